"""Write the yard that the schema tests keep of the newest step: `python -m tests.yard.keep_step`."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from stockyard.yard import cutting, pulling, schema, undo
from tests.yard.shop import make_shop, plan_for

KEPT = Path(__file__).parent.parent / "data" / "yards"


def main() -> None:
    """Do something of everything in a small shop and keep its file, named after the schema step."""
    with tempfile.TemporaryDirectory() as folder:
        shop = make_shop(Path(folder) / "yard.db")
        plan_for(shop, shop.sheets[0], shop.sheets[1])
        pulling.pull(shop.yard, [shop.sheets[0].tag])
        done = cutting.confirm_cut(shop.yard, shop.sheets[0].tag)
        cutting.return_offcut(shop.yard, done.offcuts[0].tag, "R1-B1")
        pulling.report_gone(shop.yard, shop.sheets[3].tag, "warped")
        undo.undo(shop.yard)
        shop.yard.connection.execute("PRAGMA journal_mode = DELETE")
        shop.yard.close()
        shutil.copy(shop.yard.path, KEPT / f"step-{schema.latest()}.db")


if __name__ == "__main__":
    main()
