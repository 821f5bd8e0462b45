"""What a shop can set; the only reader of the environment."""

import ipaddress
import re
from pathlib import Path
from typing import Literal, Self

from pydantic import Field, field_validator, model_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

POSTGRES_DRIVER = "postgresql+psycopg"
HTTPS_PORT = 8443
WELCOME_PORT = 8000
HOST_NAME = re.compile(
    r"(?=.{1,253}\Z)[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?(\.[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?)*"
)


class Settings(BaseSettings):
    """Read from `CLAMPBOOK_...` variables; a command's options come first."""

    model_config = SettingsConfigDict(env_prefix="CLAMPBOOK_", frozen=True)

    data: Path = Path("clampbook-data")
    host: str = "127.0.0.1"
    port: int = Field(default=8000, ge=1, le=65535)
    database_url: str = ""
    max_body_bytes: int = Field(default=4_000_000, ge=1_000)
    sign_ins_per_min: int = Field(default=10, ge=1, le=10_000)
    checkpoints: Path | None = None
    backups: Path | None = None
    backup_every_h: float = Field(default=1.0, ge=0, le=24 * 7)
    least_free_bytes: int = Field(default=100_000_000, ge=0)
    log: Literal["text", "json"] = "text"
    name: str = ""
    tls: Literal["auto", "own", "files", "proxy", "none"] = "auto"
    tls_cert: Path | None = None
    tls_key: Path | None = None
    welcome_port: int = Field(default=WELCOME_PORT, ge=0, le=65535)
    proxy_address: str = ""

    @field_validator("database_url")
    @classmethod
    def _with_driver(cls, url: str) -> str:
        """Accept the short spellings of a PostgreSQL address; refuse other engines."""
        scheme, _, rest = url.partition("://")
        if scheme in {"postgres", "postgresql"}:
            return f"{POSTGRES_DRIVER}://{rest}"
        if url and scheme not in {POSTGRES_DRIVER, "sqlite"}:
            raise ValueError(
                f"'{scheme}' is not a database Clampbook keeps records in; "
                "use postgresql://USER@HOST/NAME, or leave it out for the file in the data folder"
            )
        return url

    @field_validator("name")
    @classmethod
    def _host_name_or_address(cls, name: str) -> str:
        plain = name.strip().lower().strip("[]").rstrip(".")
        if plain and not is_address(plain) and not HOST_NAME.fullmatch(plain):
            raise ValueError(
                f"'{name}' is neither a host name nor an address; "
                "give one like clampbook.local or 192.168.1.20, without port"
            )
        return plain

    @field_validator("proxy_address")
    @classmethod
    def _addresses(cls, text: str) -> str:
        """Addresses or networks, divided by commas; never everybody."""
        for one in filter(None, (part.strip() for part in text.split(","))):
            try:
                width = ipaddress.ip_network(one, strict=False).prefixlen
            except ValueError:
                width = 0
            if width == 0:
                raise ValueError(
                    f"'{one}' is not the address of a reverse proxy; give one like 192.168.1.5"
                )
        return text

    @model_validator(mode="after")
    def _fitting_together(self) -> Self:
        if (self.tls_cert is None) != (self.tls_key is None):
            raise ValueError(
                "CLAMPBOOK_TLS_CERT and CLAMPBOOK_TLS_KEY belong together; set both or neither"
            )
        if self.tls == "files" and self.tls_cert is None:
            raise ValueError(
                "CLAMPBOOK_TLS 'files' needs the certificate in CLAMPBOOK_TLS_CERT "
                "and its key in CLAMPBOOK_TLS_KEY"
            )
        if self.tls == "proxy" and not self.proxy_address.strip(", "):
            raise ValueError(
                "CLAMPBOOK_TLS 'proxy' needs the reverse proxy's address in CLAMPBOOK_PROXY_ADDRESS"
            )
        if self.over_https and "port" not in self.model_fields_set:
            self.__dict__["port"] = HTTPS_PORT
        if self.over_https and self.port == self.welcome_port:
            raise ValueError(
                f"CLAMPBOOK_PORT and CLAMPBOOK_WELCOME_PORT are both {self.port}; "
                "give the welcome page another, or 0 for none"
            )
        return self

    @property
    def tls_kind(self) -> Literal["own", "files", "proxy", "none"]:
        """Where the encryption comes from; the machine itself needs none to be trusted."""
        if self.tls != "auto":
            return self.tls
        if self.tls_cert is not None:
            return "files"
        return "none" if is_loopback(self.host) else "own"

    @property
    def over_https(self) -> bool:
        """Whether this server itself speaks https."""
        return self.tls_kind in ("own", "files")

    @property
    def database(self) -> str:
        """Address of the database: the one set, else a file in the data folder."""
        return self.database_url or f"sqlite:///{self.data.absolute() / 'clampbook.sqlite3'}"

    @property
    def checkpoints_folder(self) -> Path:
        """Where the signed checkpoints lie, outside the database; best on another disk."""
        return self.checkpoints or self.data / "checkpoints"

    @property
    def backups_folder(self) -> Path:
        return self.backups or self.data / "backups"

    @property
    def keys(self) -> Path:
        """Folder of the shop's private keys, readable by its owner alone."""
        return self.data / "keys"


def is_address(host: str) -> bool:
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True


def is_loopback(host: str) -> bool:
    return host == "localhost" or (is_address(host) and ipaddress.ip_address(host).is_loopback)
