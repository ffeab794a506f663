"""What there is to be had: materials and their prices."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from stockyard import footage, rough
from stockyard.desk.allowances import usual_by
from stockyard.desk.lumber import board_feet
from stockyard.errors import BadInput
from stockyard.figures import money
from stockyard.kinds import Form, Method
from stockyard.measure import Length, Money, Unit, named_thickness, parse, read_size
from stockyard.rough import Over
from stockyard.settings import Settings
from stockyard.yard import Yard, materials, offers, retiring
from stockyard.yard.intake import read_money
from stockyard.yard.materials import MaterialChange, named
from stockyard.yard.model import Material, Offer


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineTakes:
    """What one machine takes of parts that are milled: of their length, of their width, off each face."""

    machine: str
    length: Length
    width: Length
    face: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialLine:
    """A material as shown; `thickness` is what a caliper says, `density` kg/m³.

    `takes` is what each machine takes of the allowance, where it was said so; `milled` says it all in words.
    """

    number: int
    title: str
    name: str
    form: Form
    thickness_name: str
    thickness: Length
    grain: bool
    density: int | None
    least_stock: int
    lead_days: int
    note: str
    retired: bool
    method: Method
    over_length: Length | None
    over_width: Length | None
    over_face: Length | None
    takes: tuple[MachineTakes, ...]
    milled: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialFacts:
    """What is known of a material, as a person says it; None is not said.

    `name` and `thickness` rename it; `method` is saw or router. `rough` is what parts of it are sawn larger:
    `usual` as the shop's settings say, `as is`, figures as in `1/2 x 1/4, 3/32 a face`, or the machines it
    passes, as in `jointer, planer 1/4 x 0, 1/16 a face`.
    """

    name: str | None = None
    thickness: str | None = None
    measured: str | None = None
    grain: bool | None = None
    density: int | None = None
    least_stock: int | None = None
    lead_days: int | None = None
    note: str | None = None
    method: str | None = None
    rough: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceLine:
    """What one full piece of a size costs at a supplier since a day.

    Of boards `says` tells how much lumber one is and its `rate` by `measure`, where it is sold so.
    """

    material: str
    length: Length
    width: Length
    price: Money
    supplier: str
    since: str
    measure: str
    rate: Money | None
    board_feet: Fraction | None
    says: str


def add_material(yard: Yard, name: str, thickness: str, form: Form, facts: MaterialFacts) -> MaterialLine:
    """Record a material; `thickness` is what the trade calls it: one deed.

    Raises:
        BadInput: an empty name, or a thickness that must be measured. Refused: there is one already.
    """
    unit = yard.unit
    thick = parse(facts.measured, unit) if facts.measured else named_thickness(thickness, unit)
    made = materials.add_material(
        yard, name, form, thickness, thick, grain=facts.grain is not False, density=facts.density,
        least_stock=facts.least_stock or 0, lead_days=facts.lead_days or 0, note=facts.note or "",
        method=machine(facts.method or Method.SAW), over=_over(yard, facts.rough, thick) or None,
    )  # fmt: skip
    return _material(made, unit)


def change_material(yard: Yard, words: str, facts: MaterialFacts) -> MaterialLine:
    """Change what is known of the material that `words` name: one deed.

    Raises:
        BadInput: none or several are named so. Refused: nothing would change.
    """
    change = MaterialChange(
        name=" ".join(facts.name.split()) if facts.name else None,
        thickness_name=" ".join(facts.thickness.split()) if facts.thickness else None,
        thickness=parse(facts.measured, yard.unit) if facts.measured else None, grain=facts.grain,
        density=facts.density, least_stock=facts.least_stock, lead_days=facts.lead_days, note=facts.note,
        method=machine(facts.method) if facts.method else None,
    )  # fmt: skip
    own = named(yard, words)
    over = _over(yard, facts.rough, change.thickness or own.thickness)
    return _material(materials.change_material(yard, own.id, replace(change, over=over)), yard.unit)


def _over(yard: Yard, text: str | None, thick: int) -> Over | Literal[""] | None:
    """Return the allowance a person says, an empty word for none, None for nothing said.

    Raises:
        BadInput: it is none, or planes away all of the material.
    """
    if text is None:
        return None
    word = text.strip().lower()
    if word == rough.AS_IS:
        return ""
    usual = usual_by(yard.settings)
    over = Over.of(usual) if word == rough.USUAL else rough.read_milled(text, yard.unit, usual)
    if why := rough.too_thin(over, thick, None, yard.unit):
        raise BadInput(why)
    return over


def machine(text: str) -> Method:
    """Return what a person calls the machine that cuts.

    Raises:
        BadInput: it is neither.
    """
    try:
        return Method(text.strip().lower())
    except ValueError:
        raise BadInput(f"'{text[:20]}' cuts no sheets here: say saw or router") from None


def retire_material(yard: Yard, words: str) -> MaterialLine:
    """Take a material out of use: one deed; adding it again takes it back.

    Raises:
        BadInput: none or several are named so. Refused: some of it is here, or a plan buys some.
    """
    return _material(retiring.retire_material(yard, named(yard, words).id), yard.unit)


def list_materials(yard: Yard, *, every: bool = False) -> tuple[MaterialLine, ...]:
    """Return the materials in use by name and thickness; `every` also those that were retired."""
    return tuple(_material(m, yard.unit) for m in materials.materials(yard) if every or not m.retired)


def add_price(yard: Yard, words: str, size: str, price: str, supplier: str = "", per: str = "") -> PriceLine:
    """Log what one full piece of a size of a material costs now: one deed.

    `per` a board foot, m³ or m²: the price is for that, and boards of random widths are about of this size.

    Raises:
        BadInput: no such material, sheets by the board foot, or a text that is no size or amount.
    """
    own = named(yard, words)
    amount = read_money(price, yard.settings.currency)
    sides = read_size(size, yard.unit)
    if not per.strip():
        return _price(offers.add_price(yard, own.id, *sides, amount, supplier), own, yard.settings)
    measure = footage.read_measure(per)
    if own.form is not Form.BOARD:
        raise BadInput(f"{own.title} is sheets: say what one costs; boards are sold by the {measure}")
    whole = footage.price(amount, measure, *sides, own.thickness_name, own.thickness)
    made = offers.add_price(yard, own.id, *sides, whole, supplier, measure=measure, rate=amount)
    return _price(made, own, yard.settings)


def end_price(yard: Yard, words: str, size: str, supplier: str = "") -> str:
    """Record that a size is no longer on sale: one deed; return the material's title.

    Raises:
        BadInput: no such material or size. Refused: it is not on sale.
    """
    own = named(yard, words)
    offers.end_offer(yard, own.id, *read_size(size, yard.unit), supplier)
    return own.title


def list_prices(yard: Yard, words: str | None = None, *, log: bool = False) -> tuple[PriceLine, ...]:
    """Return today's prices, or every one ever logged, of one material or of all.

    Raises:
        BadInput: no such material.
    """
    with yard.reading():
        wanted = named(yard, words).id if words else None
        found = offers.price_log(yard, wanted) if log else offers.offers(yard, wanted)
        known = {m.id: m for m in materials.materials(yard)}
        return tuple(_price(o, known[o.material_id], yard.settings) for o in found)


def _material(m: Material, unit: Unit) -> MaterialLine:
    takes = m.over.by if m.over else ()
    whole = rough.says(replace(m.over, by=()), unit) if m.over else ""
    milled = f"{whole} ({rough.says(m.over, unit)})" if m.over and takes else whole
    return MaterialLine(
        number=m.id, title=m.title, name=m.name, form=m.form, thickness_name=m.thickness_name,
        thickness=m.thickness, grain=m.grain, density=m.density, least_stock=m.least_stock,
        lead_days=m.lead_days, note=m.note, retired=m.retired, method=m.method,
        over_length=m.over.length if m.over else None, over_width=m.over.width if m.over else None,
        over_face=m.over.face if m.over else None, milled=milled,
        takes=tuple(
            MachineTakes(machine=name, length=o.length, width=o.width, face=o.face) for name, o in takes
        ),
    )  # fmt: skip


def _price(o: Offer, m: Material, settings: Settings) -> PriceLine:
    return PriceLine(
        measure=o.measure, rate=o.rate, material=m.title,
        board_feet=board_feet(m, o.length, o.width, tally=True) if m.form is Form.BOARD else None,
        says=_sold(o, m, settings), length=o.length, width=o.width, price=o.price,
        supplier=o.supplier, since=o.since,
    )  # fmt: skip


def _sold(o: Offer, m: Material, settings: Settings) -> str:
    if m.form is not Form.BOARD:
        return ""
    measure = footage.Measure(o.measure) if o.measure else footage.usual(settings.unit)
    much = footage.words(footage.amount(measure, o.length, o.width, m.thickness_name, m.thickness), measure)
    rate = f" at {money(o.rate, settings.currency)} a {measure}" if o.rate is not None else ""
    return f"{much}{rate}"
