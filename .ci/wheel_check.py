"""Read one file of each shipped kind through the installed package.

Usage: wheel_check.py ENVIRONMENT CHECKOUT
"""

import sys
from pathlib import Path

from crewdesk.assets import shipped

environment, checkout = (Path(word).resolve() for word in sys.argv[1:3])
for folder in ("resources", "demo_events"):
    base = Path(str(shipped(folder))).resolve()
    if not base.is_relative_to(environment):
        sys.exit(f"{folder} was read from {base}, not from the installed package")
    kinds = {path.suffix for path in (checkout / folder).rglob("*") if path.is_file()}
    if not kinds:
        sys.exit(f"{checkout / folder} holds no file to compare with")
    for kind in sorted(kinds):
        found = (path for path in sorted(base.rglob(f"*{kind}")) if path.is_file())
        path = next(found, None)
        if path is None or not path.read_bytes():
            sys.exit(f"no *{kind} in the shipped {folder}")
        sys.stdout.write(f"{folder}: {path.relative_to(base)}\n")
