"""Paths of the files beside the code, the same in a source tree, an editable install and a wheel.

In the wheel, `templates/` and `seed_content/` are installed beside the packages; a test checks that. Rejected: package
data inside `server/` (the top level of the repository is fixed).
"""

from pathlib import Path

SERVER = Path(__file__).resolve().parent
ROOT = SERVER.parent
TEMPLATES = ROOT / "templates"
STATIC = SERVER / "static"
MIGRATIONS = SERVER / "database" / "migrations"
LOCALES = SERVER / "i18n" / "locales"
SEED_CONTENT = ROOT / "seed_content"
