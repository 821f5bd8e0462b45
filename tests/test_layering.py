"""Who may import whom: the table of DEVELOPERS.md, enforced."""

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from importlinter.api import read_configuration
from importlinter.application.use_cases import lint_imports

ROOT = Path(__file__).resolve().parents[1]
CONFIG = str(ROOT / "pyproject.toml")
CONTRACTS = [contract["id"] for contract in read_configuration(CONFIG)["contracts_options"]]
THIRD_PARTY = {
    "domain": {"pydantic", "pydantic_core", "pint", "rfc8785", "tomlkit"},
    "mechanics": {"numpy", "scipy", "skfem", "threadpoolctl"},
    "pictures": {"contourpy", "numpy", "jinja2", "markupsafe"},
    "use_cases": set[str](),
    "storage": {"sqlmodel", "sqlalchemy", "alembic"},
    "security": {"cryptography", "pwdlib"},
    "operating": {"starlette", "uvicorn", "sqlalchemy"},
    "backing": {"sqlalchemy", "psycopg"},
    "routes": {
        "anyio",
        "fastapi",
        "starlette",
        "sse_starlette",
        "jinja2",
        "markupsafe",
        "pydantic",
        "segno",
    },
}
WEB = ROOT / "web/src"
WEB_IMPORT = re.compile(
    r"""(?:^\s*(?:import|export)\s[^;"'`]*?\bfrom\s*|^\s*import\s*|\bimport\()["']([^"'\n]+)["']""",
    re.MULTILINE,
)
WEB_LAYERS = {
    "core": {"core"},
    "texts": {"texts", "core"},
    "store": {"store", "core"},
    "net": {"net", "store", "core"},
    "ui": {"ui", "core"},
    "views": {"views", "ui", "core", "texts"},
    "actions": {"actions", "store", "core"},
}


@pytest.mark.parametrize("contract", CONTRACTS)
def test_the_layers_of_the_server_import_only_what_the_table_allows(
    contract: str, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = lint_imports(CONFIG, limit_to_contracts=(contract,), cache_dir=None, verbose=False)
    assert kept, capsys.readouterr().out


@pytest.mark.parametrize("layer", THIRD_PARTY)
def test_a_layer_uses_no_outside_package_but_its_own(layer: str) -> None:
    known = THIRD_PARTY[layer] | set(sys.stdlib_module_names) | {"api"}
    strangers = {
        f"{path.relative_to(ROOT)} imports {name}"
        for path in (ROOT / "api" / layer).rglob("*.py")
        for name in top_level_imports(path)
        if name not in known
    }
    assert not strangers


@pytest.mark.parametrize("layer", WEB_LAYERS)
def test_a_layer_of_the_front_end_imports_only_what_the_table_allows(layer: str) -> None:
    strangers = {
        f"{path.relative_to(ROOT)} imports {target.relative_to(WEB)}"
        for path, target in web_imports()
        if web_layer(path) == layer and web_layer(target) not in WEB_LAYERS[layer]
    }
    assert not strangers


def test_core_needs_nothing_from_outside_but_the_hash_function() -> None:
    outside = {
        f"{path.relative_to(ROOT)} imports {name}"
        for path in WEB.rglob("*.ts")
        if web_layer(path) == "core"
        for name in WEB_IMPORT.findall(path.read_text())
        if not name.startswith(".") and not name.startswith("@noble/hashes")
    }
    assert not outside


def test_only_the_settings_read_the_environment() -> None:
    readers = {
        str(path.relative_to(ROOT))
        for path in (ROOT / "api").rglob("*.py")
        if re.search(r"\bos\.(environ|getenv)\b", path.read_text())
    }
    assert not readers


def top_level_imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module.partition(".")[0]


def web_imports() -> Iterator[tuple[Path, Path]]:
    for path in WEB.rglob("*.ts"):
        for name in WEB_IMPORT.findall(path.read_text()):
            if name.startswith("."):
                yield path, (path.parent / name).resolve()


def web_layer(path: Path) -> str | None:
    """The layer a file lies in; None for entry files, which see everything."""
    return next((part for part in path.relative_to(WEB).parts[:-1] if part in WEB_LAYERS), None)
