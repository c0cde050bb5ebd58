"""Django's ORM made ready for one book at a time, with no web about it.

Each folder gets a connection of its own name. Where a larger program has already configured
Django, its settings stand and only connections are added.
"""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

__all__ = ["DATABASE", "connect", "let_go", "migrate", "ready", "waiting"]

DATABASE = "book.sqlite3"
#: Seconds that a writer waits for the one before it.
PATIENCE_S = 60
_PRAGMAS = (
    "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;"
    " PRAGMA recursive_triggers=ON;"
)


def ready() -> None:
    """Django configured and set up, once."""
    import django
    from django.apps import apps
    from django.conf import settings

    if not settings.configured:
        settings.configure(
            INSTALLED_APPS=["lemel.book"],
            DATABASES={"default": _database(":memory:")},
            DEFAULT_AUTO_FIELD="django.db.models.BigAutoField",
            USE_TZ=True,
            USE_I18N=False,
        )
    if not apps.ready and not apps.loading:
        django.setup()


def _database(name: str) -> dict[str, Any]:
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": name,
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": PATIENCE_S,
            "init_command": _PRAGMAS,
        },
    }


def connect(folder: Path) -> str:
    """The name of the connection to the database in a folder."""
    ready()
    from django.db import connections

    path = str((folder / DATABASE).resolve())
    alias = "book-" + hashlib.sha256(path.encode()).hexdigest()[:16]
    if alias not in connections.settings:
        connections.settings[alias] = {**connections.settings["default"], **_database(path)}
    return alias


def let_go(alias: str) -> None:
    """Close this thread's connection."""
    from django.db import connections

    connections[alias].close()


def waiting(alias: str) -> int:
    """How many migrations the tables still lack."""
    from django.db import connections
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connections[alias])
    return len(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def migrate(alias: str) -> int:
    """Bring the tables up to date and lay the guards; how many migrations were run."""
    from django.core.management import call_command
    from django.db import connections

    from lemel.book import guards

    lacking = waiting(alias)
    if lacking:
        call_command("migrate", database=alias, verbosity=0, interactive=False)
        guards.lay(connections[alias])
    return lacking
