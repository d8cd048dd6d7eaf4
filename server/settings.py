"""All settings: typed, read from GAPSOUND_ environment variables, refused when unsafe.

A wrong value stops the start with one line, instead of showing up on a phone.
"""

from __future__ import annotations

import os
import sys
from ipaddress import ip_network
from pathlib import Path
from urllib.parse import urlsplit

from pydantic import Field, ValidationError, field_validator, model_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

from server.errors import SettingProblem

PREFIX = "GAPSOUND_"
LOOPBACK = frozenset({"localhost", "127.0.0.1", "::1"})


def default_data_dir() -> Path:
    """The folder for this user's data, by operating system convention."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local")) / "gapsound"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "gapsound"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "gapsound"


class Settings(BaseSettings):
    """An operator's settings. Each field is the environment variable GAPSOUND_ plus its name in upper case."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, extra="ignore", frozen=True)

    data_dir: Path = Field(default_factory=default_data_dir, description="folder of the embedded database")
    database_url: str = Field(
        "", description="PostgreSQL address (postgresql://user@host/name); empty: an SQLite file in the data folder"
    )
    public_url: str = Field(
        "", description="address at which phones reach the server, https://…; empty: taken from each request"
    )
    trusted_proxies: str = Field(
        "", description="addresses or networks of proxies whose X-Forwarded headers are trusted, separated by commas"
    )
    tls_cert: Path | None = Field(None, description="certificate file, to serve HTTPS without a proxy")
    tls_key: Path | None = Field(None, description="key file of the certificate")
    body_limit_kb: int = Field(64, ge=16, le=1024, description="largest request body, kB")
    player_idle_days: int = Field(45, ge=1, le=120, description="days without use after which a phone signs in again")
    player_session_days: int = Field(200, ge=1, le=366, description="days after which any phone signs in again")
    coach_idle_hours: int = Field(12, ge=1, le=72, description="hours without use after which a coach signs in again")
    coach_session_days: int = Field(14, ge=1, le=60, description="days after which any coach signs in again")
    player_tries: int = Field(
        5, ge=3, le=20, description="wrong PINs for one player from one address in a quarter of an hour"
    )
    address_tries: int = Field(
        100, ge=20, le=1000, description="wrong tries from one address in a quarter of an hour before it is slowed"
    )
    keep_results_days: int = Field(30, ge=0, le=400, description="days from the season's end until results are erased")
    database_pool: int = Field(5, ge=1, le=50, description="connections to PostgreSQL that one process holds")
    # Fetched, never sent: a school's server contacts nobody. While off, the route does not exist.
    metrics: str = Field(
        "",
        description="figures at /metrics: empty for off, loopback for programs on this machine, "
        "or a token of 24 characters or more that a program sends",
    )
    stop_within_s: int = Field(10, ge=1, le=120, description="seconds for open requests to finish at a stop")

    @field_validator("database_url")
    @classmethod
    def _known_database(cls, value: str) -> str:
        if not value:
            return value
        scheme, found, rest = value.partition("://")
        if not found or scheme not in ("postgresql", "postgres", "postgresql+psycopg") or not rest:
            raise ValueError("expected postgresql://user@host/name")
        return f"postgresql+psycopg://{rest}"

    @field_validator("public_url")
    @classmethod
    def _plain_address(cls, value: str) -> str:
        if not value:
            return value
        parts = urlsplit(value)
        if parts.scheme not in ("http", "https") or not parts.hostname or parts.path.strip("/") or parts.query:
            raise ValueError("expected https://host or https://host:port, without a path")
        if parts.scheme == "http" and parts.hostname not in LOOPBACK:
            raise ValueError("expected https://…: a public address without HTTPS sends PINs in the open")
        if parts.username or parts.password:
            raise ValueError("expected an address without user name and password")
        return f"{parts.scheme}://{parts.netloc}"

    @field_validator("metrics")
    @classmethod
    def _off_loopback_or_token(cls, value: str) -> str:
        if value in ("", "loopback") or (len(value) >= 24 and value.isascii() and not set(value) & set(" \t\r\n")):
            return value
        raise ValueError("expected nothing, loopback, or a token of 24 characters or more without spaces")

    @field_validator("trusted_proxies")
    @classmethod
    def _networks(cls, value: str) -> str:
        for one in filter(None, (part.strip() for part in value.split(","))):
            network = ip_network(one, strict=False)
            if network.prefixlen == 0:
                raise ValueError("expected the proxies' own addresses, not every address there is")
        return value

    @model_validator(mode="after")
    def _pairs(self) -> Settings:
        if (self.tls_cert is None) != (self.tls_key is None):
            raise ValueError("tls_cert and tls_key: expected both or neither")
        for name in ("tls_cert", "tls_key"):
            path = getattr(self, name)
            if path is not None and not path.is_file():
                raise ValueError(f"{name}: expected a file, found none at {path}")
        if self.player_idle_days > self.player_session_days:
            raise ValueError("player_idle_days: expected no more than player_session_days")
        return self

    @property
    def effective_database_url(self) -> str:
        """The database URL for SQLAlchemy."""
        return self.database_url or f"sqlite:///{self.data_dir / 'gapsound.db'}"


def load_settings(**overrides: object) -> Settings:
    """The settings from the environment, overridden by these values.

    Raises: SettingProblem with one line for each wrong value.
    """
    try:
        return Settings(**overrides)  # type: ignore[arg-type]
    except ValidationError as error:
        raise SettingProblem([_line(dict(one)) for one in error.errors()]) from None


def _line(one: dict[str, object]) -> str:
    location = one["loc"]
    where = ".".join(map(str, location)) if isinstance(location, tuple) and location else ""
    message = str(one["msg"]).removeprefix("Value error, ")
    if not where:
        return f"settings: {message}"
    return f"{PREFIX}{where.upper()}: {message}, found {str(one.get('input', ''))[:80]!r}"
