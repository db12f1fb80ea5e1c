"""Bringing a crit to the newest form, by the packaged Alembic scripts, in one transaction."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection

from shotcrit.store.connect import APPLICATION_ID

SCHEMA = 5
"""Number of the newest form; migrations/versions has one script for each."""
SCRIPTS = Path(__file__).parent / "migrations"


def config(connection: Connection | None = None) -> Config:
    """Alembic's settings, made here so that no file has to be found."""
    made = Config()
    # Alembic reads % in settings as a reference.
    made.set_main_option("script_location", str(SCRIPTS).replace("%", "%%"))
    made.set_main_option("path_separator", "os")
    made.attributes["connection"] = connection
    return made


def upgrade(connection: Connection, to: str = "head") -> None:
    """Run the scripts that are missing, within the connection's transaction, which the caller ends."""
    command.upgrade(config(connection), to)
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.exec_driver_sql(f"PRAGMA user_version = {SCHEMA if to == 'head' else int(to)}")
