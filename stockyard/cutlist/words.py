"""The words of cut lists, English first, German and French where they are plain."""

from __future__ import annotations


def word_set(text: str) -> frozenset[str]:
    """Return the words of a text."""
    return frozenset(text.split())


COUNT_WORDS = word_set(
    """
    ea each pc pcs pce pces piece pieces off of no nos nr qty x stk st stck stück stueck pz pièces pièce pce
    pcs. unit units req'd reqd required mal
    """
)
COUNT_LABELS = word_set(
    """
    qty quantity count anzahl stk stück menge qté quantité
    """
)
NUMBER_WORDS = {
    word: n
    for n, words in enumerate(
        (
            "one ein eine un une", "two zwei deux pair", "three drei trois", "four vier quatre",
            "five fünf cinq", "six sechs", "seven sieben sept", "eight acht huit", "nine neun neuf",
            "ten zehn dix", "eleven elf onze", "twelve zwölf douze dozen", "thirteen", "fourteen",
            "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty",
        ),
        start=1,
    )
    for word in words.split()
}  # fmt: skip

SHEET_WORDS = word_set(
    """
    ply plywood mdf hdf mfc osb hardboard chipboard particleboard particle melamine blockboard multiplex
    spanplatte sperrholz hartfaser tischlerplatte contreplaqué aggloméré médium veneer veneered vnr vnrd
    laminate laminated furniert phenolic hpl formica acrylic masonite
    """
)
NO_GRAIN_WORDS = word_set(
    """
    mdf hdf mfc osb hardboard chipboard particleboard particle melamine spanplatte hartfaser aggloméré
    médium laminate hpl formica acrylic masonite
    """
)
VENEER_WORDS = word_set(
    """
    veneer veneered vnr vnrd furniert woodgrain
    """
)
WOOD_WORDS = word_set(
    """
    oak maple walnut cherry ash beech birch poplar hickory alder basswood mahogany sapele teak pine spruce
    fir cedar redwood douglas larch hemlock spf lime elm chestnut sycamore pear iroko wenge eiche ahorn
    nussbaum kirsche esche buche birke kiefer fichte lärche chêne érable noyer hêtre frêne pin sapin
    hardwood softwood lumber timber doug
    """
)
MATERIAL_WORDS = SHEET_WORDS | WOOD_WORDS
# Words that belong to a material beside one of its words, but name none alone.
KIND_WORDS = word_set(
    """
    red white black yellow brown grey gray green soft hard sugar silver baltic european american western
    eastern southern douglas quartersawn rift curly figured marine exterior clear knotty weiss weiß board
    boards panel sheet sheets core solid massiv faced
    """
)
# Words that name a part or one of its edges.
FACES = word_set("front back top bottom left right end ends side sides")
SETS = word_set("pair pairs pr prs set sets paar satz paire paires")
# Words before a figure that is not meant exactly.
NEARLY = word_set("approx about approximately roughly circa ca ungefähr etwa environ")
DOZENS = word_set("dozen dozens doz dz dutzend douzaine")
PREPOSITIONS = word_set(
    """
    in from of out the aus en de du in: from:
    """
)
# Words before a material that say for which parts of a line it holds.
LEADS = word_set("all both everything only")

ALONG_WORDS = word_set(
    """
    l len length along long lengthwise lengthways längs laenge länge longueur yes y ja oui
    """
)
ACROSS_WORDS = word_set(
    """
    w width across crosswise quer breite largeur
    """
)
ANY_WORDS = word_set(
    """
    any none no - n either free n/a na rotate egal nein non keine frei libre
    """
)

DITTO_WORDS = frozenset(('"', "''", "〃", "ditto", "do.", "do", "dto", "dto.", "same", "idem", "dito"))
TOTAL_WORDS = word_set(
    """
    total totals sum summe gesamt subtotal somme
    """
)
FINISHED_WORDS = word_set(
    """
    finished finish fin net fertig fertigmaß fertigmass fini
    """
)
CUT_WORDS = word_set(
    """
    cut zuschnitt cutting
    """
)
ABOUT_WORDS = word_set(
    """
    job date client customer project drawing dwg page rev tel phone order datum kunde
    """
)

# Header words -> what the column holds.
ROLES: dict[str, str] = {
    word: role
    for role, words in {
        "name": "part name description desc item component label teil bezeichnung benennung désignation "
        "pièce nom id mark code",
        "number": "pos # line nr position ref",
        "count": "qty quantity count n no nos pcs off anzahl stk stück stueck menge qté quantité pieces each "
        "ea quant nombre",
        "length": "l length len long länge laenge longueur lg lengte",
        "width": "w width wid wide breite largeur larg b",
        "thickness": "t thk thick thickness th dicke stärke staerke épaisseur ép epaisseur",
        "material": "mat material matl stock species werkstoff matière matériau board sheet",
        "grain": "grain maserung faser fil veinage",
        "edges": "edge edges eb band banding bands edging kante kanten chant chants edgeband",
        "set": "set match matched matching",
        "batch": "batch batches",
        "rough": "oversize allowance",
        "nominal": "nominal",
        "rip": "rip",
        "note": "note notes comment comments remark remarks bemerkung remarque",
    }.items()
    for word in words.split()
}


def has_grain(material: str) -> bool:
    """Whether these words name something with a grain, as far as words tell."""
    words = set(material.casefold().split())
    if words & NO_GRAIN_WORDS:
        return bool(words & VENEER_WORDS)
    return bool(words & MATERIAL_WORDS)


def is_board(material: str) -> bool:
    """Whether these words name solid wood rather than a sheet."""
    words = set(material.casefold().split())
    return bool(words & WOOD_WORDS) and not words & SHEET_WORDS
