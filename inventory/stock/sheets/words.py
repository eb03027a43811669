"""Words that people write in their sheets, in several languages, without accents and in small
letters: ``plain_words`` brings any text into that form."""

import unicodedata
from fractions import Fraction

from studio.units.numerals import ascii_character


def plain_words(text: str) -> str:
    """Return text in small letters without accents, its signs and spaces in ASCII.

    >>> plain_words("Gebindegröße ½ À l’unité")
    "gebindegrosse  1/2  a l'unite"
    """
    signs = "".join(ascii_character(one) or one for one in text)
    apart = unicodedata.normalize("NFKD", signs.replace("⁄", "/"))
    return "".join(one for one in apart if not unicodedata.combining(one)).casefold()


def _all(words: str) -> frozenset[str]:
    return frozenset(words.split())


# What a cell says instead of being empty.
NOTHING_SAID = frozenset(
    {"", "-", "--", "---", "n/a", "na", "n.a.", "none given", ".", "/", "k.a."}
)
NONE_LEFT = _all(
    """
    empty none nothing zero nil out gone leer alle keine nichts fehlt aus vide aucun rien
    epuise vacio agotado nada ninguno vuoto finito leeg op
    """
)
PARTS = {
    **dict.fromkeys(
        _all("full whole new sealed unopened voll ganz neu plein pleine lleno llena"), "1"
    ),
    **dict.fromkeys(_all("pieno entier nuevo neuf"), "1"),
    **dict.fromkeys(
        _all("half halb halbe halber halbes halbvoll demi moitie medio media mitad"), "1/2"
    ),
    **dict.fromkeys(_all("mezzo meta helft halve"), "1/2"),
    **dict.fromkeys(_all("quarter viertel quart cuarto"), "1/4"),
    **dict.fromkeys(_all("third drittel tiers tercio"), "1/3"),
}
PART = {word: Fraction(value) for word, value in PARTS.items()}
CONTAINERS = _all(
    """
    bottle bottles jar jars jug jugs can cans tub tubs tube tubes box boxes bag bags pack
    packs pk package packages pail pails bucket buckets pot pots carton cartons case cases
    sleeve sleeves roll rolls set sets kit kits container containers drum drums tin tins
    sachet sachets flasche flaschen dose dosen kanister eimer tuben packung packungen karton
    kartons beutel becher gebinde tiegel glas glaser pck pkg bouteille bouteilles flacon
    flacons bidon bidons boite boites sac sacs lot lots paquet paquets seau seaux bote botes
    botella botellas garrafa garrafas lata latas caja cajas paquete paquetes bolsa bolsas
    cubo cubos tarro tarros barattolo barattoli bottiglia bottiglie fles flessen
    """
)
FILLERS = _all(
    """
    of de d des von zu a la le les the approx approximately about around ca circa etwa
    environ env ungefahr rund noch left remaining restant reste ubrig per par pro por je der
    di da mit avec con with net netto cada aprox only nur
    """
)
PLUS = _all("+ and und et y & plus e en")
# Words of units in other languages, as the words that `studio.units` reads.
UNITS = {
    **dict.fromkeys(_all("litro litros ltr ltrs"), "l"),
    **dict.fromkeys(_all("mililitro mililitros millilitri"), "ml"),
    **dict.fromkeys(_all("centilitro centilitros"), "cl"),
    **dict.fromkeys(_all("gramm gramo gramos grammi"), "g"),
    **dict.fromkeys(_all("kilogramm kilogramo kilogramos kilogrammes kilogramme"), "kg"),
    **dict.fromkeys(_all("gallone gallonen galon galones"), "gal"),
    **dict.fromkeys(_all("pfund"), "lb"),
    **dict.fromkeys(_all("unze unzen onza onzas once onces"), "oz"),
    **dict.fromkeys(
        _all("stuck stk stck stucke stueck st unite unites unidad unidades ud uds"), "each"
    ),
    **dict.fromkeys(
        _all("u pce pces ct count cnt pz pezzi pezzo stuks stuk pieza piezas units unit"), "each"
    ),
}
TOTALS = _all(
    """
    total totals subtotal grandtotal sum gesamt gesamtsumme summe zwischensumme insgesamt
    soustotal somme suma subtotales totale totaal subtotaal totaux totales
    """
)
COLOURS = _all(
    """
    white black ivory umber ochre blue violet purple green yellow orange red pink grey gray
    teal copper gold silver bronze brown magenta cyan turquoise crimson scarlet sienna
    ultramarine cobalt cadmium titanium phthalo quinacridone azo diarylide prussian cerulean
    aqua cream pearl pearlescent iridescent metallic oxide mars lilac burgundy maroon beige
    navy lime blanc noir bleu vert jaune rouge rose gris ocre terre brun outremer argent
    blanco negro azul verde amarillo rojo rosa violeta marron dorado plata naranja bianco
    nero giallo rosso ocker titanweiss
    """
)
COLOUR_ENDS = tuple(
    "weiss schwarz blau grun gelb rot violett ocker braun grau rosa turkis umbra silber".split()  # noqa: SIM905 - as the lists of words about it
)
# The first of these that is found in a name says its kind; colours come after all of them.
KIND_WORDS = {
    "other": """
        glove gloves handschuhe cup cups becher mold mould molds form spray brush
        brushes pinsel torch brenner scale waage stick sticks stir spatula spachtel
        gants gobelet pinceau guantes vaso vasos pincel tape klebeband sieve sandpaper
        schleifpapier scraper level trowel apron
    """,
    "packaging": """
        box boxes schachtel schachteln karton boite carton caja embalaje packaging
        mailer mailers bag bags tissue verpackung label labels ribbon
    """,
    "hardener": """
        hardener harter durcisseur endurecedor catalyst indurente
    """,
    "resin": """
        resin epoxy epoxid epoxidharz harz epoxi resine resina
    """,
    "surface": """
        canvas canvases panel panels tile tiles coaster coasters board boards slate wood
        leinwand keilrahmen holz holzscheibe holzplatte holzplatten untersetzer kachel
        fliese platte platten mdf ringe chassis toile toiles support supports ardoise
        carreau lienzo tablero bastidor posavasos azulejo untergrunde surface surfaces
        tray trays tela cork sousverre panneau
    """,
    "conditioner": """
        conditioner fliessverbesserer floating floetrol flow extender retarder
        acondicionador
    """,
    "medium": """
        gesso primer medium mediums giessmedium giessmittel varnish vernis barniz lack firnis
        topcoat
        sealer verter lissage verniz pouring binder vernice
    """,
    "additive": """
        silicone silikon silikonol dimethicone alcohol isopropyl alkohol alcool mica
        pigment pigmente powder paste dye glitter additive oil ol huile aceite polvo
        glimmer additif
    """,
    "water": """
        water wasser eau agua
    """,
    "paint": """
        paint paints acrylic acrylics farbe farben peinture peintures pintura pinturas
        ink inks color colors colour colours couleur couleurs colores
    """,
}
COUNTED_KINDS = frozenset({"surface", "packaging", "other"})
