#!/usr/bin/env python3
"""What the first load downloads: the files of the built site (`cargo worksheet build`), compressed with
brotli at its highest quality as a web server would keep it; what is fetched only on request does not count.

    python3 tests/bench/size.py [--limit KB] [SITE]

With a limit, a larger total ends with an error. A KB is 1000 bytes.
"""

import argparse
import pathlib
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]


# Fetched when a reader asks for them.
LATER = (
    "writing.html", "fonts/GUST-FONT-LICENSE.txt",
    "handout.html", "handout.css", "handout-a4.css", "handout-letter.css", "handout.js",
    "file.html", "file.css", "file.js", "draft.js", "reading.js", "reading.wasm", "block.css", "pool.js",
    "embed.html", "embed.js", "fit.js", "frame.css", "frame.js", "worker-whole.js",
)
LATER_FOLDERS = ("worksheets/",)


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
    total = 0
    print(f"{'bytes':>9} {'brotli':>9}  file")
    for path in files:
        size, name = compressed(path), path.relative_to(options.site).as_posix()
        later = name in LATER or name.startswith(LATER_FOLDERS)
        total += 0 if later else size
        print(f"{path.stat().st_size:>9} {size:>9}  {name}{' (later)' if later else ''}")
    print(f"{'':>9} {total:>9}  total: {total / 1000:.1f} KB")
    if options.limit is not None and total > options.limit * 1000:
        print(f"More than the {options.limit:g} KB that the first load may have.", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
