"""Commands with words that make no sense: one line, no traceback, no row without a deed, each deed told."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path

import pytest
from typer import testing

from stockyard import yard
from stockyard.cli import streams
from stockyard.cli.main import build
from stockyard.errors import BadInput
from stockyard.yard.check import check
from tests.yard.shop import make_shop, plan_for, state_of

COMMANDS = (
    """
yard settings|yard backups|yard restore|yard import|yard new|material add|material change|material list
price add|price end|price list|place add|place change|place list|shelve|find|tag|move|measure|pull-list|pull
cut|bench|return|release|gone|ledger|undo|count|label-layouts|place-for|keep|tidy|lift|reorder|stock-up|cost
month|jobs list|jobs show|jobs remove|draw|paste|clear
""".strip()
    .replace("\n", "|")
    .split("|")
)
OPTIONS = """
--at --to --count --size --offcut --thickness --cost --note --why --part --job --from --limit --last --done
--yes --json --not-seen --set --grain --stores --measured --density --least --rated-load
--inside-size --supports
--inches --answer --flaw --no-flaw --biggest
""".split()  # noqa: SIM905
WORDS = [
    "", " ", "-", "--", "0", "-1", "²", "½", "１２", "1e999", "nan", "inf", "9" * 5000, "x" * 5000, "10 x 10",
    "80 x 120 at 0, 0", "9 x 9 at 1e999, x", "10 x 10 at 99999; 0", "1 x 1 at",
    "10 x", "x 10", "1/0 x 5", "1/2", "20 x 30 1/2 ply", "birch ply", "birch ply 18", "white oak", "R2",
    "R1-B2-S3", "kitchen", "=1+1", "@x", "a\x1b[31m", "a\x00b", "a\nb", "\u202eabc", "\ud800", "%s%n", "';",
    "../..", "~nouser", "~", "/dev/null", "/", "COUNT:a:1 x 1", "2:side:720 x 560", "²:a:100 x 100", "kerf=²",
    "kerf=3", "kerf=", "unit=in", "backups=99999999999", "time_zone=Mars", "2026-13", "2026-03", "R1-B1",
]  # fmt: skip
SOUND = [
    ["shelve", "birch ply", "--at", "R2", "--offcut", "500 x 400", "--note", "x"],
    ["move", "TAG", "--to", "R2"], ["gone", "TAG", "--why", "warped"], ["measure", "TAG", "900 x 800"],
    ["place", "add", "R7", "--supports", "3"], ["count", "R2", "TAG"], ["undo", "--yes"], ["pull", "TAG"],
    ["yard", "settings", "backups=7"], ["price", "add", "birch ply", "2440 x 1220", "60"], ["cut", "TAG"],
]  # fmt: skip


def spoilt(r: random.Random, tags: list[str]) -> list[str]:
    """Return a command of random words, options and tags, or a sound one with a word or none replaced."""
    if r.random() < 0.4:
        words = [r.choice(tags) if word == "TAG" else word for word in r.choice(SOUND)]
        if r.random() < 0.7:
            words[r.randrange(1, len(words))] = r.choice(WORDS)
        return words
    words = r.choice(COMMANDS).split()
    for _ in range(r.randint(0, 5)):
        if r.random() < 0.35:
            words.append(r.choice(OPTIONS))
        words.append(r.choice(tags) if r.random() < 0.3 else r.choice(WORDS))
    return words


# Ten thousand in all, each thousand on a shop of its own.
MANY = [pytest.param(seed, 1000, marks=pytest.mark.slow) for seed in range(10)]


@pytest.mark.parametrize(("seed", "runs"), [(250, 250), *MANY])
def test_bad_arguments_are_told_and_change_nothing_untold(
    tmp_path: Path, seed: int, runs: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    # Built once, not anew for every command.
    monkeypatch.setattr(testing, "_get_command", cache(testing._get_command))
    shop = make_shop(tmp_path / "yard.db")
    plan_for(shop, shop.sheets[0])
    shop.yard.close()
    tags = [p.tag for p in (*shop.sheets, shop.offcut)]
    app, r, taken = build(), random.Random(seed), 0
    env = {"STOCKYARD_YARD": str(tmp_path / "yard.db"), "COLUMNS": "200", "HOME": str(tmp_path)}
    with yard.open(tmp_path / "yard.db") as y:
        state, deeds = state_of(y), y.one("SELECT max(id) FROM deed")
        for _ in range(runs):
            words = spoilt(r, tags)
            try:
                streams.look_at_words(words)
            except BadInput:  # the command itself goes no further
                continue
            before, done_before = state, deeds
            done = testing.CliRunner().invoke(app, words, env=env, input="")
            assert done.exception is None or isinstance(done.exception, SystemExit), (words, done.exception)
            assert done.exit_code in (0, 1, 2, 3), (words, done.exit_code)
            state, deeds = state_of(y), y.one("SELECT max(id) FROM deed")
            assert state == before or deeds > done_before, words
            if deeds > done_before:
                taken += 1
                assert done.stdout or "recorded all the same" in done.stderr, words
            if done.exit_code in (1, 2):
                assert done.stderr.strip(), words
        assert check(y) == ()
    assert taken
