"""Sheets of invented studios, and what a person who reads them would expect of each.

They were written before there was a reader for them, as their owners would have written them. A
row of a table is a row of the sheet that stands for a thing; every other row is a title, blank, a
group, a heading or a total, and is to be passed over. `outcome` is good; ask, where its owner has
to say something first; or wrong. Amounts are in mL, g or pieces: a US gallon is 3785.411784 mL, a
fluid ounce its 128th part, an ounce by weight 28.349523125 g (NIST Handbook 44, appendix C).
"""

# ruff: noqa: E501 — a row of a table stays on one line, as in the sheet

from dataclasses import dataclass, field
from pathlib import Path

SHEETS = Path(__file__).parent / "sheets"
COLUMNS = "row outcome name kind supplier pack price on_hand received expires place".split()  # noqa: SIM905 - as the heads of the tables


@dataclass(frozen=True)
class OtherSheet:
    """One sheet: who wrote it, in whose money, what has to be asked of the whole, what is in it."""

    file: str
    who: str
    currency: str
    asked: dict[str, str]
    worth: str
    table: str = field(repr=False)

    @property
    def rows(self) -> list[dict[str, str]]:
        """Its rows that stand for things, by the name of the column."""
        lines = [line for line in self.table.splitlines() if line.strip()]
        return [
            dict(zip(COLUMNS, (cell.strip() for cell in line.split("|")), strict=True))
            for line in lines
        ]


ALL = [
    OtherSheet(
        "kiln_lane.csv",
        "American; titles, groups, a total; fluid ounces written as oz; month first by 3/14/2027",
        "USD",
        {"ounces": "volume"},
        "326.375",
        """
 6 | good | Titanium White PW6 | paint | Harbor Street Supply | 1892.7059 ml | 38.95 | 3785.4118 ml | | 2027-03-14 | Top shelf
 7 | good | Carbon Black | paint | Harbor Street Supply | 473.1765 ml | 14.50 | 1419.5294 ml | | | Top shelf
 8 | good | Ultramarine Blue | paint | Harbor Street Supply | 473.1765 ml | 14.50 | 473.1765 ml | | 2026-11-30 | Top shelf
 9 | good | quinacridone magenta | paint | Two Gulls Art | 236.5882 ml | 11.25 | 236.5882 ml | | | Bin 2
10 | ask | Phthalo Green | paint | Two Gulls Art | 236.5882 ml | 11.25 | | | | Bin 2
11 | good | Raw Umber | paint | Two Gulls Art | 236.5882 ml | 9.75 | | | | Bin 2
14 | good | Pouring Medium Gloss | medium | Harbor Street Supply | 3785.4118 ml | 42.00 | 3785.4118 ml | | | Floor
15 | good | Silicone oil | additive | Two Gulls Art | 59.1471 ml | 6.99 | 118.2941 ml | | | Drawer
16 | good | Flow Conditioner | conditioner | Harbor Street Supply | 946.3529 ml | 18.49 | 473.1765 ml | | | Floor
19 | good | Wood panel 8" x 8" | surface | Cedar & Pine Co | 1 each | 4.25 | 12 each | | | Back rack
20 | good | Round 10 in cradled panel | surface | Cedar & Pine Co | 6 each | 31.50 | 12 each | | | Back rack
""",
    ),
    OtherSheet(
        "werkstatt_ahorn.csv",
        "German; semicolons, Windows letters; 1.000 ml is a litre, 1.049,00 € a thousand",
        "EUR",
        {},
        "1267.85",
        """
 6 | good | Titanweiß | paint | Farbenhof Ahrens | 1000 ml | 12.50 | 3000 ml | | 2027-12-31 | Regal A
 7 | good | Lampenschwarz | paint | Farbenhof Ahrens | 500 ml | 7.90 | 1000 ml | | | Regal A
 8 | good | Ultramarinblau | paint | Farbenhof Ahrens | 500 ml | 8.90 | 500 ml | | 2026-11-15 | Regal A
 9 | good | Phthalogrün | paint | Kontor Seeblick | 250 ml | 6.45 | 250 ml | | | Regal A
10 | good | Lichter Ocker | paint | Kontor Seeblick | 250 ml | 5.95 | | | | Regal A
14 | good | Gießmedium glänzend | medium | Kontor Seeblick | 50000 ml | 1049.00 | 50000 ml | | 2027-04-03 | Boden
15 | good | Fließverbesserer | conditioner | Kontor Seeblick | 500 ml | 14.20 | 250 ml | | | Boden
16 | good | Silikonöl | additive | Farbenhof Ahrens | 100 ml | 9.80 | 200 ml | | | Schublade
20 | good | Epoxidharz Komponente A | resin | Kontor Seeblick | 1500 g | 39.00 | 1500 g | | | Schrank
21 | good | Härter Komponente B | hardener | Kontor Seeblick | 750 g | 25.00 | 750 g | | 2026-07-01 | Schrank
24 | good | Keilrahmen 20 x 20 cm | surface | Rahmenbau Lenz | 1 each | 2.35 | 10 each | | | Ständer
25 | good | Holzscheibe rund 15 cm | surface | Rahmenbau Lenz | 10 each | 18.00 | 20 each | | | Ständer
""",
    ),
    OtherSheet(
        "atelier_tilleul.csv",
        "French; tabs; narrow spaces in 1 234,56 €; a month alone ends with its last day, as on labels",
        "EUR",
        {},
        "2112.34",
        """
 5 | good | Blanc de titane | paint | Comptoir des Saules | 1000 ml | 24.90 | 2000 ml | 2026-02-03 | 2027-04-30 | Étagère 1
 6 | good | Noir d'ivoire | paint | Comptoir des Saules | 500 ml | 13.40 | 750 ml | 2026-02-03 | | Étagère 1
 7 | good | Bleu outremer | paint | Comptoir des Saules | 500 ml | 14.20 | 500 ml | 2026-01-15 | 2026-10-31 | Étagère 1
 8 | good | Jaune de cadmium (imitation) | paint | Maison Perrin-Lac | 250 ml | 12.80 | | 2025-11-28 | |
 9 | good | Magenta quinacridone | paint | Maison Perrin-Lac | 250 ml | 15.10 | 250 ml | 2025-11-28 | | Étagère 2
13 | good | Médium de lissage brillant | medium | Comptoir des Saules | 5000 ml | 89.00 | 2500 ml | | | Sol
14 | good | Huile de silicone | additive | Comptoir des Saules | 60 ml | 7.50 | 180 ml | | | Tiroir
15 | good | Résine époxy (partie A) | resin | Maison Perrin-Lac | 20000 g | 1234.56 | 20000 g | 2026-03-05 | 2027-03-05 | Armoire
16 | good | Durcisseur (partie B) | hardener | Maison Perrin-Lac | 10000 g | 617.28 | 10000 g | 2026-03-05 | 2027-03-05 | Armoire
19 | good | Châssis entoilé 30 × 30 cm | surface | L'Établi de Nuit | 1 each | 5.60 | 8 each | 2026-03-01 | | Couloir
20 | good | Sous-verre ardoise | surface | L'Établi de Nuit | 4 each | 9.90 | 20 each | | | Couloir
""",
    ),
    OtherSheet(
        "copper_finch.xlsx",
        "American; first column empty, merged titles and groups, sums as formulas; 3/4/26 is asked",
        "USD",
        {"ounces": "volume", "days": "month"},
        "275.065",
        """
 6 | good | Titanium White | paint | North Pier Art | 946.3529 ml | 21.99 | 1892.7059 ml | 2026-03-04 | |
 7 | good | Mars Black | paint | North Pier Art | 473.1765 ml | 12.99 | 473.1765 ml | 2026-03-04 | |
 8 | good | Cadmium-free red | paint | North Pier Art | 473.1765 ml | 13.49 | 473.1765 ml | 2026-05-06 | |
 9 | good | Prussian Blue | paint | Old Depot Paints | 473.1765 ml | 15 | 473.1765 ml | 2026-05-06 | |
10 | good | Metallic gold | paint | Old Depot Paints | 118 ml | 9.25 | 354 ml | | |
14 | good | Coating resin part A | resin | Old Depot Paints | 3785.4118 ml | 64 | 3785.4118 ml | 2026-02-03 | |
15 | good | Coating hardener part B | hardener | Old Depot Paints | 3785.4118 ml | 58 | 3785.4118 ml | 2026-02-03 | |
16 | good | Polyurethane varnish | medium | Old Depot Paints | 946.3529 ml | 23.75 | 473.1765 ml | | |
20 | good | Nitrile gloves | other | Corner Drugstore | 100 each | 12 | 150 each | | |
21 | good | Plastic cups 9oz | other | Corner Drugstore | 50 each | 4.99 | 100 each | | |
22 | ask | Torch fuel | other | | | | | | |
""",
    ),
    OtherSheet(
        "dunmore_shed.xlsx",
        "British; two rows of headings, amounts with the unit in the next column, real dates",
        "GBP",
        {},
        "221.06",
        """
 5 | good | Titanium white | paint | Merrow & Daughters | 1000 ml | 11.95 | 1500 ml | 2026-02-01 | 2027-02-01 | A1
 6 | good | Bone black | paint | Merrow & Daughters | 500 ml | 7.50 | 400 ml | 2026-02-01 | | A1
 7 | good | Iridescent pearl | paint | Merrow & Daughters | 250 ml | 9.20 | 250 ml | 2026-02-01 | | A2
 8 | good | Isopropyl alcohol | additive | Chandlers Row | 1000 ml | 8 | 1000 ml | | | locked cupboard
 9 | good | Pouring medium | medium | Merrow & Daughters | 5000 ml | 39.99 | 2500 ml | 2025-12-15 | | floor
10 | good | Mica powder bronze | additive | Chandlers Row | 100 g | 6.40 | 85 g | | | A3
11 | good | Slate coasters | surface | Quarry End | 12 each | 21.60 | 24 each | | | rack
12 | good | Epoxy A | resin | Chandlers Row | 5000 g | 74 | 3000 g | 2026-01-20 | 2026-12-31 | cupboard
13 | good | Epoxy B | hardener | Chandlers Row | 2500 g | 61.50 | 1500 g | 2026-01-20 | 2026-12-31 | cupboard
14 | good | Gift boxes | packaging | Quarry End | 20 each | 15 | 40 each | | | rack
15 | ask | Mystery jar | other | | | | | | | C3
""",
    ),
    OtherSheet(
        "three_shops.csv",
        "a list of prices: one material at several shops, spelt in several ways, one row twice",
        "USD",
        {},
        "0",
        """
 2 | good | Titanium White | paint | Harbour Lights | 250 ml | 6.90 | | | |
 3 | good | Titanium White | paint | Harbour Lights | 1000 ml | 19.90 | | | |
 4 | good | Titanium White | paint | Paint Cellar | 500 ml | 12.40 | | | |
 5 | good | Ultramarine Blue | paint | Harbour Lights | 250 ml | 7.90 | | | |
 6 | good | Ultramarine Blue | paint | Paint Cellar | 250 ml | 7.20 | | | |
 7 | good | Ultramarine Blue | paint | Paint Cellar | 250 ml | 7.20 | | | |
 8 | good | Pouring medium | medium | Paint Cellar | 1000 ml | 14.00 | | | |
 9 | ask | Pouring medium | medium | Harbour Lights | 5000 ml | | | | |
10 | good | Pouring medium | medium | Old Mill Wholesale | 25000 ml | 245.00 | | | |
11 | good | Glass coasters | surface | Old Mill Wholesale | 48 each | 96.00 | | | |
12 | good | Glass coasters | surface | | | | | | |
""",
    ),
    OtherSheet(
        "phone_list.txt",
        "typed on a telephone: no headings at all, tabs, two bytes a letter",
        "USD",
        {"ounces": "weight"},
        "183.475",
        """
1 | good | Titanium white | paint | | 500 ml | 12.50 | 1500 ml | | |
2 | good | Black | paint | | 250 ml | 8 | 250 ml | | |
3 | good | Red oxide | paint | | 250 ml | 7.95 | 125 ml | | |
4 | good | Blue | paint | | 236.5882 ml | 9.00 | 473.1765 ml | | |
5 | good | Pouring medium | medium | | 3785.4118 ml | 36.00 | 3785.4118 ml | | |
6 | good | Resin A | resin | | 453.5924 g | 22.00 | 453.5924 g | | |
7 | good | Resin B | hardener | | 453.5924 g | 22.00 | 453.5924 g | | |
8 | good | Tiles 4x4 | surface | | 10 each | 12.00 | 30 each | | |
9 | ask | Sticks | other | | | | | | |
""",
    ),
    OtherSheet(
        "taller_olmo.csv",
        "Spanish; semicolons; there is no 31 February; one row without a supplier",
        "EUR",
        {},
        "302.70",
        """
 2 | good | Blanco de titanio | paint | Pinturas del Olmo | 1000 ml | 18.95 | 2000 ml | | 2027-06-30 | Estante 1
 3 | good | Negro marfil | paint | Pinturas del Olmo | 500 ml | 10.50 | 500 ml | | | Estante 1
 4 | good | Azul ultramar | paint | | 500 ml | 11.20 | 250 ml | | | Estante 1
 5 | good | Médium para verter | medium | Almacén Brisa | 5000 ml | 64.00 | 5000 ml | | 2026-12-31 | Suelo
 6 | wrong | Barniz brillante | medium | Almacén Brisa | 750 ml | 16.75 | 750 ml | | | Suelo
 7 | good | Resina parte A | resin | Almacén Brisa | 1000 g | 29.00 | 3000 g | | | Armario
 8 | good | Endurecedor parte B | hardener | Almacén Brisa | 500 g | 19.00 | 1500 g | | | Armario
 9 | good | Tablero redondo 30 cm | surface | Maderas Ribera | 1 each | 4.15 | 6 each | | | Pasillo
10 | good | Posavasos de corcho | surface | Maderas Ribera | 10 each | 7.90 | 20 each | | | Pasillo
""",
    ),
    OtherSheet(
        "pigment_grid.csv",
        "units in the headings, prices by the litre, lines inside cells, a letter o for a nought",
        "GBP",
        {},
        "55.792",
        """
2 | good | Titanium white | paint | | | | 1200 ml | 2026-01-10 | 2028-01-10 | A1
3 | good | Ultramarine | paint | | | | 350.5 ml | 2026-01-10 | | A1
4 | good | Phthalo blue | paint | | | | 80 ml | 2025-11-02 | | A1
5 | good | Nickel azo yellow | paint | | | | | | |
6 | wrong | Quinacridone violet | paint | | | | | 2025-11-02 | | A2
7 | good | Diarylide yellow | paint | | | | 1050 ml | 2025-11-02 | | A2
8 | wrong | Paynes grey | paint | | | | 500 ml | | | A2
""",
    ),
    OtherSheet(
        "border_road.csv",
        "bought on both sides of a border: dates both ways round, prices in two kinds of money",
        "USD",
        {"ounces": "volume", "days": "month"},
        "1154",
        """
 4 | good | Titanium White | paint | Red Barn Supply | 473.1765 ml | 14.00 | 946.3529 ml | 2026-02-13 | |
 5 | ask | Zinc white | paint | Farbenhof Ahrens | 500 ml | | 500 ml | 2026-02-13 | |
 6 | good | Naples yellow | paint | Red Barn Supply | 473.1765 ml | 13.00 | 473.1765 ml | 2026-04-05 | |
 7 | good | Sap green | paint | Red Barn Supply | 473.1765 ml | 13.00 | 1419.5294 ml | | |
 8 | ask | Copper | paint | Farbenhof Ahrens | 500 ml | | 500 ml | | |
 9 | good | Gloss varnish | medium | Red Barn Supply | 946.3529 ml | 1050.00 | 946.3529 ml | | |
10 | good | Kitchen scale | other | Red Barn Supply | 1 each | 24.00 | 1 each | | |
""",
    ),
    OtherSheet(
        "resin_corner.xlsx",
        "American; headings again on the second page, containers part full, a name at the end",
        "USD",
        {"ounces": "weight"},
        "269.573333",
        """
 4 | good | Deep pour resin A | resin | Basin Supply Co | 3000 g | 59.00 | 6000 g | | 2026-12-01 |
 5 | good | Deep pour hardener B | hardener | Basin Supply Co | 1000 g | 39.00 | 2000 g | | 2026-12-01 |
 6 | good | UV resin | resin | Basin Supply Co | 200 g | 19.50 | 300 g | | |
 7 | good | Pigment paste white | additive | Basin Supply Co | 50 g | 7.00 | 16.6667 g | | |
 8 | good | Pigment paste black | additive | Basin Supply Co | 48.1942 g | 7.00 | 48.1942 g | | |
11 | good | Mold release spray | other | Basin Supply Co | 340.1943 g | 11.00 | 340.1943 g | | |
12 | good | Mixing cups 8 oz | other | Basin Supply Co | 25 each | 5.00 | 100 each | | |
13 | good | Alcohol 91% | additive | Corner Drugstore | 946.3529 ml | 3.99 | 946.3529 ml | | |
14 | wrong | Casting dye | additive | Basin Supply Co | 3000 g | 59.00 | | | |
15 | wrong | Silicone mold round 4in | other | Basin Supply Co | 1 each | | 3 each | | |
""",
    ),
    OtherSheet(
        "inventar_v3.xlsx",
        "Swiss; a cover first, the unit in a cell's format, 1'234.50, a name alone at the end",
        "CHF",
        {},
        "2872.685",
        """
 3 | good | Titanweiss | paint | Farbmühle Sihlau | 1000 ml | 18.50 | 750 ml | 2026-04-03 | | Regal 1
 4 | good | Russschwarz | paint | Farbmühle Sihlau | 500 ml | 11.90 | 200 ml | 2026-04-03 | | Regal 1
 5 | good | Kobaltblau (Ton) | paint | Farbmühle Sihlau | 500 ml | 14.50 | 500 ml | 2026-04-03 | | Regal 1
 6 | good | Giessmittel | medium | Chemie Brugghof | 100000 ml | 1145.50 | 50000 ml | 2026-02-28 | | Keller
 7 | good | Epoxi A | resin | Chemie Brugghof | 25000 g | 1234.50 | 25000 g | 2026-02-28 | | Keller
 8 | good | Epoxi B | hardener | Chemie Brugghof | 12500 g | 987.50 | 12500 g | 2026-02-28 | | Keller
 9 | good | Holzplatten 20x20 | surface | Schreinerei Auwald | 1 each | 3.20 | 14 each | | | Gang
10 | good | MDF-Ringe | surface | Schreinerei Auwald | 1 each | 1.10 | | | | Gang
11 | ask | Pinsel | other | | | | | | |
""",
    ),
]
