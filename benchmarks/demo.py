"""How long Saltmere takes to build, into a fresh folder that is thrown away, and how many rows it has."""

import os
import tempfile
import time
from datetime import date


def main() -> None:
    """Print seconds and rows."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ.update(THENAR_DATA=folder, THENAR_DEMO="1", DJANGO_SETTINGS_MODULE="thenar.site.settings")
        os.environ.pop("THENAR_DATABASE_URL", None)
        import django
        from django.core.management import call_command

        django.setup()
        call_command("migrate", verbosity=0)
        build()


def build() -> None:
    """Build once and tell."""
    from thenar.demo.build import build_saltmere, imagine_saltmere
    from thenar.knowledge import load

    book, today = load(), date(2026, 12, 2)
    started = time.perf_counter()
    imagine_saltmere(7, today, book)
    imagined = time.perf_counter() - started
    started = time.perf_counter()
    built = build_saltmere(7, today, book)
    took = time.perf_counter() - started
    rows = sum(built.counts.values())
    print(f"Saltmere: {took:.1f} s in all, {imagined:.1f} s of it to imagine; {rows:,} rows")
    for name, count in built.counts.items():
        print(f"  {name:<16}{count:>8,}")


if __name__ == "__main__":
    main()
