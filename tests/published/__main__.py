"""`python -m tests.published` writes docs/held-against.md."""

from __future__ import annotations

from tests.published.held import DOCUMENT, all_figures, document

if __name__ == "__main__":
    DOCUMENT.write_text(document(), encoding="utf-8")
    for one in all_figures():
        if not one.held:
            print(f"NOT HELD {one.file} {one.row} {one.key}: {one.published}, ours {one.ours}")
