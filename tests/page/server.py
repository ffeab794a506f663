"""A server of its own process for tests that need a real one, and a Chromium where there is one."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

CHROMIUM = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)
NO_CHROMIUM = "no Chromium here: the pages are not looked at in a browser (apt-get install chromium)"
REQUIRED = os.environ.get("STOCKYARD_BROWSER_TESTS") == "required"


@contextmanager
def served(yard: Path, *words: str, port: int = 0) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """Serve a yard as a person would; yield the address it names, and its process."""
    command = [sys.executable, "-c", "from stockyard.cli.main import main; main()", "serve"]
    process = subprocess.Popen(
        [*command, "--yard", str(yard), "--port", str(port), *words],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True,
    )  # fmt: skip
    try:
        assert process.stdout is not None
        said = []
        for line in process.stdout:
            said.append(line)
            if found := re.search(r"(http://\S+:\d+)/$", line.strip()):
                yield found[1], process
                return
        raise AssertionError("".join(said))
    finally:
        process.kill()
        process.wait()
        if process.stdout is not None:
            process.stdout.close()
