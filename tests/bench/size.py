#!/usr/bin/env python3
"""What the first load downloads: the files of the built site (`cargo worksheet build`), compressed with
brotli at its highest quality as a web server would keep it; what is fetched only on request does not count.

    python3 tests/bench/size.py [--limit KB] [SITE]

With a limit, a larger total ends with an error. A KB is 1000 bytes.
"""

import argparse
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]


def first(site: pathlib.Path) -> set[str]:
    """What the page names, and what its scripts fetch to begin with."""
    page = (site / "index.html").read_text()
    named = set(re.findall(r'<(?:link|script)[^>]* (?:href|src)="([^"]+)"', page))
    faces = {f"fonts/{path.name}" for path in site.glob("fonts/*.woff2")}
    return named | faces | {"index.html", "web.js", "web.wasm", "worker.js", "links.js", "modules.js"}


def compressed(path: pathlib.Path) -> int:
    done = subprocess.run(["brotli", "--quality=11", "--lgwin=24", "--stdout", path], check=True, capture_output=True)
    return len(done.stdout)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("site", nargs="?", type=pathlib.Path, default=ROOT / "target" / "site")
    parser.add_argument("--limit", type=float, help="the largest total allowed, in KB")
    options = parser.parse_args()
    files = sorted(path for path in options.site.rglob("*") if path.is_file())
    if not any(path.suffix == ".wasm" for path in files):
        print(f"{options.site} holds no site: build it first.", file=sys.stderr)
        return 2
    total, wanted = 0, first(options.site)
    print(f"{'bytes':>9} {'brotli':>9}  file")
    for path in files:
        name = path.relative_to(options.site).as_posix()
        if name in ("ordinary-point.html", "embed-whole.html"):
            continue  # the same once more, in one file
        size = compressed(path)
        total += size if name in wanted else 0
        print(f"{path.stat().st_size:>9} {size:>9}  {name}{'' if name in wanted else ' (later)'}")
    print(f"{'':>9} {total:>9}  total: {total / 1000:.1f} KB")
    if options.limit is not None and total > options.limit * 1000:
        print(f"More than the {options.limit:g} KB that the first load may have.", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
