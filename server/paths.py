"""Where the files beside the code lie: the same expression holds in a source tree and in an installed wheel."""

from pathlib import Path

SERVER = Path(__file__).resolve().parent
ROOT = SERVER.parent
TEMPLATES = ROOT / "templates"
STATIC = SERVER / "static"
MIGRATIONS = SERVER / "database" / "migrations"
LOCALES = SERVER / "i18n" / "locales"
SEED_CONTENT = ROOT / "seed_content"
