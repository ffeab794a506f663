"""Every command in README.md and DEVELOPERS.md is run, in order, in one fresh folder a page."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from stockyard.planning.kept import user_folder

ROOT = Path(__file__).parent.parent
BLOCK = re.compile(r"```(\w+)([^\n]*)\n(.*?)```", re.DOTALL)


def blocks(page: str, language: str) -> list[str]:
    text = (ROOT / page).read_text(encoding="utf-8")
    return [body.strip() for found, _, body in BLOCK.findall(text) if found == language]


def run(script: str, folder: Path, home: Path) -> subprocess.CompletedProcess[str]:
    """Run one block as a person would, with this environment's programs first on the path."""
    env = os.environ | {
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "HOME": str(home),
        "XDG_DATA_HOME": str(home / "data"),
        "NO_COLOR": "1",
        "STOCKYARD_CACHE": str(user_folder()),  # compiled once for all homes
    }
    env.pop("STOCKYARD_YARD", None)
    return subprocess.run(
        ["bash", "-euo", "pipefail", "-c", script],
        cwd=folder, env=env, capture_output=True, text=True, timeout=300, stdin=subprocess.DEVNULL,
    )  # fmt: skip


def copy_of_the_project(folder: Path) -> Path:
    """Return a copy of the files that git tracks, as a clean clone would hold them."""
    names = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True)
    target = folder / "stockyard"
    for name in filter(None, names.stdout.split("\0")):
        if (ROOT / name).is_file():
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, target / name)
    return target


def test_the_two_commands_come_first() -> None:
    first, second = blocks("README.md", "sh")[:2]
    assert "\n" not in first and first.endswith("stockyard demo demo-yard")
    assert "\n" not in second and second.endswith("pytest")


@pytest.mark.slow
def test_the_first_command_on_a_fresh_machine(tmp_path: Path) -> None:
    """The whole line: environment, installation, the demo yard, and the papers it names."""
    project = copy_of_the_project(tmp_path)
    done = run(blocks("README.md", "sh")[0], project, tmp_path)
    assert done.returncode == 0, done.stderr
    named = re.findall(r"\S+\.pdf", done.stdout)
    assert named
    for path in named:
        assert (project / path).read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_every_command_runs(page: str, tmp_path: Path) -> None:
    """One session a page, as a person would have it; lines that make an environment start at their end."""
    project = copy_of_the_project(tmp_path)
    session = []
    for script in blocks(page, "sh"):
        if "-m venv" in script:
            script = script.split(" && ")[-1].replace(".venv/bin/", "")
        if script != "pytest":
            session.append(script)
    done = run("set -x\n" + "\n".join(session), project, tmp_path)
    assert done.returncode == 0, f"{done.stdout[-1000:]}\n{done.stderr[-3000:]}"


def test_every_command_is_documented() -> None:
    from stockyard.cli.main import build

    page = (ROOT / "README.md").read_text(encoding="utf-8")
    app = build()
    names = [c.name or (c.callback.__name__ if c.callback else "") for c in app.registered_commands]
    names += [g.name or "" for g in app.registered_groups]
    assert not [n for n in names if f"`{n.replace('_', '-')}" not in page and f"stockyard {n}" not in page]
