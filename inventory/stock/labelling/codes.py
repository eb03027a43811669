"""QR codes that a phone reads."""

import segno

# ISO/IEC 18004:2015, 9.1: four modules of empty space on each side.
QUIET_MODULES = 4


def qr_code(text: str) -> segno.QRCode:
    """Return a QR code of error correction level M, which reads with 15 % of it scuffed.

    Parameters
    ----------
    text : str
        What it says, such as the address of a bottle, [characters]

    Returns
    -------
    code : segno.QRCode
        Its ``symbol_size(border=4)`` is its width and height with the quiet zone, [modules]

    Examples
    --------
    >>> code = qr_code("https://studio.example.org/b/7/B0012/")
    >>> code.error, code.symbol_size(border=QUIET_MODULES)
    ('M', (37, 37))

    References
    ----------
    ISO/IEC 18004:2015, QR Code bar code symbology specification.
    """
    return segno.make(text, error="m", boost_error=False, micro=False)
