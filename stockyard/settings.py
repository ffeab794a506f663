"""A shop's settings: one validated value, kept in the yard."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from fractions import Fraction

from stockyard.days import MACHINE, read_zone
from stockyard.effort import USUAL, Effort, Seconds, effort_of
from stockyard.errors import BadInput
from stockyard.measure import MONEY, TICKS_PER_INCH, TICKS_PER_MM, Unit, parse
from stockyard.routing import DrawingRules, Origin, Release, layers_of
from stockyard.saws import Saws
from stockyard.settings_said import called, recorded
from stockyard.settings_text import read_unit, read_value, show_value
from stockyard.worth import KEEP_AREA, KEEP_SHORT_SIDE, PULL_AREA, WHOLE_AREA

_MM = TICKS_PER_MM
_M2 = (1000 * _MM) ** 2
PAPERS = ("letter", "a4")

# What a second's wait for a plan is worth beside fetching a piece, which takes about a minute (common
# practice, no source).
WAIT = Fraction(1, 60)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What one shop decided. Lengths are ticks, areas ticks², shares thousandths.

    `fence` is the finest fraction of an inch the fence is set to; `kerf` the width of the blade's cut as
    measured; `edge_trim` is kept from every factory edge; a leftover is kept from `keep_short_side` and
    `keep_area` on (one of a board from `keep_board_width` by `keep_board_length` on) and is worth its whole
    area from `whole_area` on, `keep_floor` of it at first; `pull_area` is the good material that one piece
    pulled costs the shop, when offcuts are advised on. For plans, an hour at the saw is worth `hour_worth` of
    the currency, and a piece pulled, one lifted off to reach it, a fence move, a cut, what a cut for two
    people takes more, and a size that comes off as what remains take so many seconds; a cut card in hand that
    another replaces takes `change_seconds`, a metre of the router's path `path_seconds` (all common practice,
    no source). A second's wait for a plan is worth `wait_worth` hundredths of one at the saw; 0 waits for
    whatever may be better. `board_end_trim` comes off both ends of a board as bought. A banded edge is sawn
    `band_trim` oversize where it is trimmed later, and a strip of band is cut `band_over` longer at each end.
    Parts of material that is milled are sawn larger by what each machine takes, where nothing else is said:
    `saw_length` and `saw_width` to be squared and ripped again, `jointer_width` and `jointer_face` for a
    straight edge and a flat face, `planer_length` for the ends that a planer gouges and `planer_face`.
    Together that is 12 and 6 mm and 2.5 a face, or 1/2, 1/4 and 3/32 in (furniture-making handbooks); its
    share for each machine is common practice, no source. The edge of a rough board that is jointed before it
    is ripped loses `joint_edge` (common practice, no source). Parts of one batch come from pieces that
    measure no more than `batch_spread` apart (common practice, no source). What the shop saws with is in
    `saws.Saws`; `one_saw` 1: fence and stop are one machine; the cards call the saw that runs along a rail
    `guide_name`. `label_right` and `label_down` shift what is printed on a label sheet. Sheets that go on the
    router are cut with a bit of `bit` and `bit_margin` kept clear beside it, `table_edge` from every edge,
    clear of `clamps`; how its drawings are made is in `routing.DrawingRules`. `time_zone` is whose days and
    months costs go by. `count_days` after its last count a place is due again, 0 never. `keep_days` is how
    far ahead a leftover must find a use.

    Raises:
        BadInput: a figure out of its bounds, named with the bounds.
    """

    unit: Unit = Unit.MM
    currency: str = "EUR"
    kerf: int = 3 * _MM
    edge_trim: int = 0
    keep_short_side: int = KEEP_SHORT_SIDE
    keep_area: int = KEEP_AREA
    whole_area: int = WHOLE_AREA
    keep_floor: int = 400
    keep_board_width: int = 38 * _MM
    keep_board_length: int = 305 * _MM
    pull_area: int = PULL_AREA
    board_end_trim: int = 10 * _MM
    band_trim: int = 0
    band_over: int = 25 * _MM
    batch_spread: int = 2 * _MM // 10
    saw_length: int = 6 * _MM
    saw_width: int = 3 * _MM
    jointer_width: int = 3 * _MM
    jointer_face: int = _MM
    planer_length: int = 6 * _MM
    planer_face: int = 3 * _MM // 2
    joint_edge: int = 3 * _MM
    hour_worth: int = 40
    pull_seconds: int = USUAL.pull
    dig_seconds: int = USUAL.dig
    fence_seconds: int = USUAL.fence
    cut_seconds: int = USUAL.cut
    heavy_seconds: int = USUAL.heavy
    rest_seconds: int = USUAL.rest
    path_seconds: int = USUAL.path
    change_seconds: int = 120
    rip_width: int = 1300 * _MM
    stop_length: int = 1220 * _MM
    stop_reach: int = 610 * _MM
    guide_length: int = 3100 * _MM
    guide_name: str = "guided saw"
    one_person: int = 914 * _MM
    one_saw: int = 0
    bench: int = 40
    fence: int = 32
    paper: str = "a4"
    label: str = "a4-21"
    own_label: str = ""
    bit: int = 6 * _MM
    bit_margin: int = 0
    one_pass: int = 0
    table_edge: int = 0
    clamps: str = ""
    origin: str = "lower left"
    sheet_along: str = "x"
    drawing_unit: str = "shop"
    drawing_form: str = "R2000"
    layers: str = ""
    tab_width: int = 3 * TICKS_PER_INCH // 16
    tab_under: int = 6 * TICKS_PER_INCH
    tab_inside: int = 0
    label_right: int = 0
    label_down: int = 0
    printer_dpi: int = 300
    plan_seconds: int = 10
    wait_worth: int = 100
    keep_days: int = 365
    count_days: int = 90
    backups: int = 10
    time_zone: str = MACHINE

    @property
    def saws(self) -> Saws:
        """What the shop saws with."""
        return Saws(
            rip_width=self.rip_width, stop_length=self.stop_length, stop_reach=self.stop_reach,
            guide_length=self.guide_length, one_person=self.one_person, apart=not self.one_saw,
            bench=self.bench,
        )  # fmt: skip

    @property
    def gap(self) -> int:
        """How far apart parts lie on the router."""
        return self.bit + self.bit_margin

    @property
    def drawing_rules(self) -> DrawingRules:
        """How sheets are drawn for the router."""
        return DrawingRules(
            unit=self.unit if self.drawing_unit == "shop" else Unit(self.drawing_unit),
            origin=Origin(self.origin), along_y=self.sheet_along == "y",
            release=Release.R12 if self.drawing_form == Release.R12 else Release.R2000,
            layers=layers_of(self.layers), small=self.tab_under, reach=self.tab_inside or None,
            tab_width=self.tab_width,
        )  # fmt: skip

    @property
    def seconds(self) -> Seconds:
        """How long hands and saw take."""
        return Seconds(
            pull=self.pull_seconds, dig=self.dig_seconds, fence=self.fence_seconds, cut=self.cut_seconds,
            rest=self.rest_seconds, heavy=self.heavy_seconds, path=self.path_seconds,
        )  # fmt: skip

    @property
    def wait(self) -> Fraction:
        """Return what a second's wait for a plan is worth, in fetched pieces."""
        return WAIT if not self.pull_seconds else Fraction(self.wait_worth, 100 * self.pull_seconds)

    def effort(self, price: Fraction) -> Effort:
        """Return what hands and saw cost as areas, where a tick² of material costs `price`."""
        return effort_of(self.seconds, hour=self.hour_worth * MONEY, price=price)

    def __post_init__(self) -> None:
        if not isinstance(self.unit, Unit):
            raise BadInput(f"unit is '{self.unit}': it must be mm or in")
        if not re.fullmatch(r"[A-Z]{3}|[^\s\d=+@-]{1,3}", self.currency):
            raise BadInput(
                f"currency is '{self.currency[:20]}': write a code such as EUR, or a sign such as $"
            )
        if self.paper not in PAPERS:
            raise BadInput(f"paper is '{self.paper[:20]}': it must be letter or a4")
        if not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,39}", self.label):
            raise BadInput(f"label is '{self.label[:40]}': write the name of a label layout, such as a4-21")
        if len(self.own_label) > 120 or not self.own_label.isprintable():
            raise BadInput("own_label is not readable", "own label")
        if not re.fullmatch(r"\w[\w -]{1,22}\w", self.guide_name):
            raise BadInput(
                f"guide_name is '{self.guide_name[:30]}': write what the shop calls its guided saw, "
                "in 3 to 24 letters"
            )
        read_zone(self.time_zone)
        for name, choices in _CHOICES.items():
            value = getattr(self, name)
            if value not in choices:
                raise BadInput(f"{called(name)} is '{value[:20]}': it must be {' or '.join(choices)}")
        try:
            rules = self.drawing_rules
            rules.layers.check(rules.release)
        except BadInput as error:
            raise BadInput(f"layers: {error}") from None
        if self.one_pass and self.bit_margin:
            raise BadInput("one_pass is 1: one pass cuts two edges only where bit_margin is 0")
        if len(self.clamps) > 1000:
            raise BadInput("clamps: they are too many to keep; write the largest")
        if self.fence not in (8, 16, 32, 64, 128):
            raise BadInput(f"fence_step is 1/{self.fence}: it must be 1/8, 1/16, 1/32, 1/64 or 1/128")
        for name, (low, high) in _BOUNDS.items():
            value = getattr(self, name)
            if not low <= value <= high:
                shown, least, most = (show_value(name, v, self.unit) for v in (value, low, high))
                raise BadInput(f"{called(name)} is {shown}: it must be from {least} to {most}")
        if self.keep_area > self.whole_area:
            raise BadInput(
                "keep_area is more than whole_area: a leftover must be kept before it is worth all"
            )


_BOUNDS: Mapping[str, tuple[int, int]] = {
    "kerf": (0, 30 * _MM),
    "edge_trim": (0, 100 * _MM),
    "keep_short_side": (0, 2_000 * _MM),
    "keep_area": (0, 10 * _M2),
    "keep_board_width": (0, 1_000 * _MM),
    "keep_board_length": (0, 5_000 * _MM),
    "whole_area": (_MM**2, 100 * _M2),
    "keep_floor": (0, 1000),
    "pull_area": (0, 10 * _M2),
    "board_end_trim": (0, 100 * _MM),
    "band_trim": (0, 20 * _MM),
    "band_over": (0, 500 * _MM),
    "batch_spread": (0, 5 * _MM),
    "saw_length": (0, 200 * _MM),
    "saw_width": (0, 100 * _MM),
    "jointer_width": (0, 100 * _MM),
    "jointer_face": (0, 25 * _MM),
    "planer_length": (0, 200 * _MM),
    "planer_face": (0, 25 * _MM),
    "joint_edge": (0, 100 * _MM),
    "hour_worth": (0, 100_000),
    "pull_seconds": (0, 3600),
    "dig_seconds": (0, 3600),
    "fence_seconds": (0, 3600),
    "cut_seconds": (0, 3600),
    "heavy_seconds": (0, 3600),
    "rest_seconds": (0, 3600),
    "path_seconds": (0, 3600),
    "one_pass": (0, 1),
    "change_seconds": (0, 36_000),
    "rip_width": (0, 10_000 * _MM),
    "stop_length": (0, 10_000 * _MM),
    "stop_reach": (0, 10_000 * _MM),
    "guide_length": (0, 10_000 * _MM),
    "one_person": (100 * _MM, 10_000 * _MM),
    "one_saw": (0, 1),
    "bench": (1, 1000),
    "bit": (_MM // 10, 50 * _MM),
    "bit_margin": (0, 100 * _MM),
    "table_edge": (0, 500 * _MM),
    "tab_width": (_MM // 10, 100 * _MM),
    "tab_under": (0, 5_000 * _MM),
    "tab_inside": (0, 5_000 * _MM),
    "label_right": (-50 * _MM, 50 * _MM),
    "label_down": (-50 * _MM, 50 * _MM),
    "printer_dpi": (100, 2400),
    "plan_seconds": (1, 3600),
    "wait_worth": (0, 1000),
    "keep_days": (1, 3650),
    "count_days": (0, 3650),
    "backups": (1, 1000),
}
_CHOICES: Mapping[str, tuple[str, ...]] = {
    "origin": tuple(Origin),
    "sheet_along": ("x", "y"),
    "drawing_unit": ("shop", *Unit),
    "drawing_form": (*Release, "SVG"),
}


def inch_shop() -> Settings:
    """Return the settings a shop that works in inches starts with: 1/8 in kerf, letter paper."""
    inch = parse("1", Unit.INCH)
    return Settings(
        unit=Unit.INCH, currency="USD", kerf=inch // 8, keep_short_side=6 * inch, keep_area=144 * inch * inch,
        keep_board_width=inch * 3 // 2, keep_board_length=12 * inch, paper="letter", label="letter-30",
        bit=inch // 4, saw_length=inch // 4, saw_width=inch // 8, jointer_width=inch // 8,
        jointer_face=inch // 32, planer_length=inch // 4, planer_face=inch // 16, joint_edge=inch // 8,
        board_end_trim=inch * 3 // 8, band_over=inch,
    )  # fmt: skip


def names() -> tuple[str, ...]:
    """Return the names of all settings, in the order in which they are shown."""
    return tuple(f.name for f in fields(Settings))


def change(settings: Settings, given: Mapping[str, str]) -> Settings:
    """Return `settings` with the named ones read from text; bare lengths are in the (new) unit.

    Raises:
        BadInput: no such setting, or a text that is not one of its values.
    """
    given = {recorded(name): text for name, text in given.items()}
    unknown = next((n for n in given if n not in names()), None)
    if unknown is not None:
        every = ", ".join(called(n) for n in names())
        raise BadInput(f"there is no setting '{unknown[:40]}': the settings are {every}")
    unit = read_unit(given["unit"]) if "unit" in given else settings.unit
    values: dict[str, object] = {name: read_value(name, text, unit) for name, text in given.items()}
    return replace(settings, **values)  # type: ignore[arg-type]
