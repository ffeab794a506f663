"""Books: what jobs and months cost, prices, what to order, materials, places, and the shop's settings."""

from __future__ import annotations

from stockyard.desk import buying, costs, jobs, keep_advice, places, shop, spreadsheets, stock
from stockyard.errors import BadInput, StockyardError
from stockyard.kinds import Form
from stockyard.page.doors import Read, Write
from stockyard.page.visit import Answer, File, Go, Page, Visit
from stockyard.settings_said import GROUPS, called

PDF = "application/pdf"
CSV = "text/csv; charset=utf-8"
_TIDY = 60


def overview(visit: Visit) -> Answer:
    """Show the months and what each job cost."""
    y = visit.yard
    try:
        months = visit.kept("months", lambda: costs.month_costs(y))
    except BadInput:
        months = ()
    every = visit.kept("all jobs", lambda: jobs.list_jobs(y, finished=True))
    spent = visit.kept("job costs", lambda: costs.job_costs(y))
    return Page(
        "books.html",
        {
            "title": "Books",
            "months": months[::-1],
            "notes": (*costs.found_notes(months), *visit.kept("shaped", lambda: costs.shaped_notes(y))),
            "order": visit.kept("order", lambda: buying.reorder(y)),
            "jobs": [(j, spent[j.number]) for j in every if j.number in spent][::-1],
        },
    )


def month(visit: Visit) -> Answer:
    """Print one month."""
    return File(costs.month_pdf(visit.yard, visit.asked("m") or None), PDF, "month.pdf")


def table(visit: Visit) -> Answer:
    """Write a table for a spreadsheet."""
    kind = visit.path["table"]
    return File(spreadsheets.written(visit.yard, kind), CSV, f"{kind}.csv")


def tidy(visit: Visit) -> Answer:
    """Show which offcuts to clear out, crowded places first."""
    y = visit.yard
    found = visit.kept("tidy", lambda: keep_advice.tidy(y, limit=_TIDY))
    return Page("tidy.html", {"title": "Clear out", "room": "Books", "found": found})


def prices(visit: Visit) -> Answer:
    """Show today's prices, and how one material's compare with the shop's own past."""
    y, asked = visit.yard, visit.asked("of")
    looks: tuple[buying.StockUp, ...] = ()
    says = ""
    if asked:
        try:
            looks = buying.stock_up(y, asked)
        except StockyardError as error:
            says = str(error)
    return Page(
        "prices.html",
        {
            "title": "Prices",
            "room": "Books",
            "prices": stock.list_prices(y),
            "looks": looks,
            "says": says,
            "materials": [m.title for m in stock.list_materials(y)],
            "of": asked,
        },
    )


def add_price(visit: Visit) -> Answer:
    """Log what a size costs now."""
    stock.add_price(
        visit.yard,
        visit.must_say("material", "the material"),
        visit.must_say("size", "the size"),
        visit.must_say("price", "the price"),
        visit.said("supplier")[:100],
        visit.said("per")[:20],
    )
    return Go("/books/prices")


def materials(visit: Visit) -> Answer:
    """Show the materials."""
    return Page(
        "materials.html",
        {
            "title": "Materials",
            "room": "Books",
            "materials": stock.list_materials(visit.yard),
        },
    )


def add_material(visit: Visit) -> Answer:
    """Record a material."""
    form = next((f for f in Form if f.value == visit.said("form")), None)
    if form is None:
        raise BadInput("say whether it comes as sheets or boards")
    facts = stock.MaterialFacts(
        measured=visit.maybe("measured"),
        grain=visit.said("grain") == "yes",
        density=_whole(visit, "density"),
        least_stock=_whole(visit, "least") or 0,
        lead_days=_whole(visit, "lead") or 0,
        method=visit.maybe("on"),
        rough=visit.maybe("rough"),
    )
    thickness = visit.must_say("thickness", "the thickness")
    stock.add_material(visit.yard, visit.must_say("name", "the name"), thickness, form, facts)
    return Go("/books/materials")


def change_material(visit: Visit) -> Answer:
    """Change what is known of a material."""
    facts = stock.MaterialFacts(
        measured=visit.maybe("measured"),
        density=_whole(visit, "density"),
        least_stock=_whole(visit, "least"),
        lead_days=_whole(visit, "lead"),
        method=visit.maybe("on"),
        rough=visit.maybe("rough"),
    )
    stock.change_material(visit.yard, visit.must_say("title", "the material"), facts)
    return Go("/books/materials")


def add_place(visit: Visit) -> Answer:
    """Record a place."""
    facts = places.PlaceFacts(
        stores=visit.said("stores") or "flat",
        inside_size=visit.maybe("inside"),
        rated_load=visit.maybe("load"),
        supports=_whole(visit, "supports"),
    )
    places.add_place(visit.yard, visit.must_say("code", "the place's name"), facts)
    return Go("/racks")


def settings(visit: Visit) -> Answer:
    """Show every setting with a sentence on what it does."""
    now = {line.name: line for line in shop.settings(visit.yard)}
    groups = [(title, [now[called(name)] for name in names]) for title, names in GROUPS.items()]
    return Page("settings.html", {"title": "Settings", "room": "Books", "groups": groups})


def change_settings(visit: Visit) -> Answer:
    """Change those settings of the form that are another than before."""
    now = {line.name: line.exact for line in shop.settings(visit.yard)}
    given = {n: text for n, exact in now.items() if (text := visit.form.get(n, exact).strip()) != exact}
    shop.set_settings(visit.yard, given)
    return Go("/books/settings")


def _whole(visit: Visit, name: str) -> int | None:
    return visit.number(name) if visit.said(name) else None


DOORS = (
    Read("/books", overview),
    Read("/books/month.pdf", month),
    Read("/books/tidy", tidy),
    Read("/tables/{table}.csv", table),
    Read("/books/prices", prices),
    Write("/books/prices", add_price),
    Read("/books/materials", materials),
    Write("/books/materials", add_material),
    Write("/books/materials/change", change_material),
    Write("/books/places", add_place),
    Read("/books/settings", settings),
    Write("/books/settings", change_settings),
)
