"""What a shop can set; the only reader of the environment."""

from pathlib import Path
from typing import Literal

from pydantic import Field, field_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

POSTGRES_DRIVER = "postgresql+psycopg"


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
