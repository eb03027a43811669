"""What each column of a sheet holds, guessed by its heading and by what stands in it."""

import re
from collections.abc import Callable, Mapping, Sequence

from inventory.stock.sheets.amounts import PACK, Measure, Ways, read_measure
from inventory.stock.sheets.days import read_day
from inventory.stock.sheets.doubts import CellDoubtful, CellWrong, SheetAsked
from inventory.stock.sheets.words import NOTHING_SAID, plain_words

# What a column can be, in the order of the choice on the page, and how it is headed by the program.
ROLES = {
    "name": "Name",
    "kind": "Kind",
    "supplier": "Supplier",
    "supplier_code": "Supplier code",
    "pack": "Pack size",
    "price": "Price",
    "on_hand": "On hand",
    "unit": "Unit",
    "worth": "Worth in all",
    "place": "Place",
    "received": "Received on",
    "opened": "Opened on",
    "expires": "Expires on",
    "code": "Code of the bottle",
    "pigments": "Pigments",
    "density": "Density (g/mL)",
    "notes": "Notes",
}
SKIPPED = "skip"
# Headings of what the program writes beside rows that are to be mended.
TO_MEND, WAS_ROW = "To mend", "Row before"
PHRASES = {
    "name": """
        name, item, material, product, article, artikel, bezeichnung, designation,
        produit, produkt, producto, articulo, descripcion, description, paint, color,
        colour, pigment, was, couleur, farbe, supply, nombre, materiau, what, color
        item, things, thing, prodotto, omschrijving, material name, paint supply
    """,
    "kind": """
        kind, type, category, kategorie, categorie, categoria, tipo, art, typ
    """,
    "supplier": """
        supplier, vendor, shop, store, bought from, where from, source, handler,
        lieferant, fournisseur, magasin, proveedor, tienda, woher, purchased from,
        retailer, seller, fornitore, leverancier, from, bezugsquelle
    """,
    "supplier_code": """
        sku, item number, item no, order no, order number, art nr, artikelnummer,
        bestellnummer, ref, reference, referencia, catalogue number, part no, supplier
        code, article number
    """,
    "pack": """
        size, pack, pack size, bottle, container, package, gebinde, gebindegrosse,
        grosse, contenance, conditionnement, contenido, tamano, formato, net contents,
        contents, volume, inhalt, unit size, packung, holds when full, capacity,
        container size, bottle size, verpakking, packaging, format
    """,
    "price": """
        price, cost, unit cost, cost each, price each, unit price, price unit, preis,
        einzelpreis, prix, prix unitaire, precio, coste, fr, chf, eur, usd, gbp, per
        pack, price per pack, price per litre, paid, stuckpreis, price paid, kosten,
        prezzo, prijs, precio unitario
    """,
    "on_hand": """
        qty, quantity, on hand, how many, how much, have, stock, in stock, count,
        amount, anzahl, bestand, menge, vorrat, noch da, quantite, quantite en stock, en
        stock, existencias, cantidad, units on hand, left, remaining, stock held,
        number, in studio, quantita, aantal, voorraad, nombre en stock, lagerbestand,
        amount on hand
    """,
    "unit": """
        counted in, unit, units, einheit, unite, unidad, uom, measure, eenheid, unita
    """,
    "worth": """
        total, value, total cost, worth, gesamt, gesamtpreis, summe, wert, valeur, total
        price, importe, valor, worth in all, total value, gesamtwert, prix total
    """,
    "received": """
        purchased, bought, bought on, date, purchase date, date purchased, gekauft,
        gekauft am, kaufdatum, date d achat, achat, fecha, fecha de compra, got it,
        received, received on, date bought, dates, datum, eingang, purchased on
    """,
    "opened": """
        opened, opened on, geoffnet, angebrochen, ouvert, ouvert le, abierto, open date,
        date opened
    """,
    "expires": """
        expires, expiry, exp, best by, best before, use by, use before, bbe, haltbar
        bis, haltbarkeit, mhd, peremption, a utiliser avant, dluo, ddm, caducidad,
        expiration, expiry date, expiration date, expires on, date de peremption,
        verfallsdatum, scadenza
    """,
    "place": """
        place, where, shelf, location, loc, lagerort, ort, rangement, emplacement,
        ubicacion, lugar, where it lives, wo, bin, standort, where shelf, storage, lieu,
        lagerplatz, posizione
    """,
    "code": """
        code, code of the bottle, bottle code, barcode
    """,
    "pigments": """
        colour index, color index, ci, pigment code, ci name, pigments, pigment codes,
        colour index name
    """,
    "density": """
        density, dichte, densite, densidad, density g ml, specific gravity
    """,
    "notes": """
        notes, note, memo, comment, comments, remark, remarks, bemerkung, bemerkungen,
        remarques, observations, notas, anmerkung, anmerkungen, observaciones, hinweis,
        commentaire
    """,
    SKIPPED: """
        min stock, minimum stock, stock minimum, stock min, minimum, reorder, reorder point,
        reorder qty, reorder quantity, reorder level, order qty, to order, mindestbestand,
        meldebestand, stock mini, is stocked,
        to mend, row before, brand, marke, marque, marca
    """,
}
ROLE_OF = {
    " ".join(phrase.split()): role
    for role, phrases in PHRASES.items()
    for phrase in phrases.split(",")
}
LETTERS = re.compile(r"[a-z0-9]+")
MONEY = re.compile(r"[€$£]|\d[.,]\d\d(?!\d)")
LONGEST = 40  # characters of a heading
ENOUGH_KNOWN = 3  # headings
BY_WORDS = ("name", "pack")
ENOUGH = 0.6  # of the cells of a column that say something


def folded_heading(text: str) -> str:
    """Return what makes two headings the same, accents aside.

    >>> folded_heading("Gebindegröße (ml)")
    'gebindegrosse ml'
    """
    return " ".join(LETTERS.findall(plain_words(text)))


def role_of_heading(text: str) -> tuple[str, int]:
    """Return the role whose phrase a heading is or holds, and how sure that is; the longest wins.

    >>> role_of_heading("Preis (brutto)"), role_of_heading("Colour index")[0]
    (('price', 1), 'pigments')
    """
    heading = folded_heading(text) if len(text) <= 2 * LONGEST else ""
    if not heading or len(heading) > LONGEST:
        return "", 0
    if heading in ROLE_OF:
        return ROLE_OF[heading], 2
    held = [phrase for phrase in ROLE_OF if f" {phrase} " in f" {heading} "]
    if not held:
        return "", 0
    return ROLE_OF[max(held, key=lambda phrase: (phrase.count(" "), len(phrase)))], 1


def guess_columns(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> dict[int, str]:
    """Return {place of a column: its role}, each role once, the surest first."""
    found: dict[int, str] = {}
    columns = _cells_of(rows)
    sure = []
    for place, text in enumerate(headings):
        role, certainty = role_of_heading(text)
        cells = columns.get(place, [])
        share = TELLS[role](cells) if role in TELLS and cells else 0.0
        if folded_heading(text) == "bottle" and cells and not share:
            role = "code"  # not the size of a bottle, but which one it is
        sure.append((-certainty, -share, place, role))
    for _, _, place, role in sorted(sure):
        if role == SKIPPED or (role and role not in found.values()):
            found[place] = role
    return dict(sorted({**_by_content(columns, len(rows), found), **found}.items()))


def _cells_of(rows: Sequence[Sequence[str]]) -> dict[int, list[str]]:
    """Return {place of a column: what stands in it}."""
    width = max(map(len, rows), default=0)
    return {
        place: [row[place] for row in rows if place < len(row) and row[place]]
        for place in range(width)
    }


def _by_content(
    columns: Mapping[int, Sequence[str]], row_count: int, taken: Mapping[int, str]
) -> dict[int, str]:
    """Guess what the headings did not tell, of the roles that a sheet can hardly do without.

    Where headings are known, a column of figures under another is not taken for what is on hand.
    """
    found: dict[int, str] = {}
    roles = TELLS if len(taken) < ENOUGH_KNOWN else BY_WORDS
    for role in roles:
        if role in taken.values():
            continue
        shares = {
            place: TELLS[role](cells)
            for place, cells in columns.items()
            if place not in taken and place not in found and len(cells) >= max(1, row_count // 4)
        }
        place = max(shares, key=lambda one: (shares[one], -one), default=-1)
        if place >= 0 and shares[place] >= ENOUGH:
            found[place] = role
    return found


def _measured(text: str) -> Measure | None:
    try:
        return read_measure(text, Ways("point", "volume"))
    except (CellWrong, CellDoubtful, SheetAsked):
        return None


def _is_pack(text: str) -> bool:
    measure = _measured(text)
    return measure is not None and measure.unit not in ("", PACK)


def _is_count(text: str) -> bool:
    measure = _measured(text)
    return measure is not None and measure.unit in ("", PACK)


def _is_money(text: str) -> bool:
    return bool(MONEY.search(text[:LONGEST])) or (text.isdigit() and len(text) < 7)


def _is_day(text: str) -> bool:
    try:
        return not text.isdigit() and read_day(text, "day", True) is not None
    except (CellWrong, CellDoubtful, SheetAsked):
        return False


def _is_name(text: str) -> bool:
    text = text[: 2 * LONGEST]
    letters = sum(one.isalpha() for one in text)
    return letters > len(text) / 2 and plain_words(text) not in NOTHING_SAID and not _is_pack(text)


def _share(tells: Callable[[str], bool]) -> Callable[[Sequence[str]], float]:
    return lambda cells: sum(map(tells, cells)) / len(cells)


def _money_share(cells: Sequence[str]) -> float:
    """Return which share of the cells can be prices; none where not one looks like money."""
    return _share(_is_money)(cells) if any(map(MONEY.search, cells)) else 0.0


TELLS: dict[str, Callable[[Sequence[str]], float]] = {
    "name": _share(_is_name),
    "pack": _share(_is_pack),
    "expires": _share(_is_day),
    "price": _money_share,
    "on_hand": _share(_is_count),
}
