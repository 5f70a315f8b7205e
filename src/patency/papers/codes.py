"""Codes to scan: a QR symbol and a GS1 DataMatrix as SVG."""

from __future__ import annotations

import io


def qr_svg(content: str) -> str:
    """Make a QR code (ISO/IEC 18004) that survives a wet, creased sheet.

    Parameters
    ----------
    content
        What a scanner shall read.

    Returns
    -------
    str
        SVG source with the quiet zone of four modules the standard asks for.
    """
    import segno

    symbol = segno.make(content, error="q", micro=False)
    out = io.BytesIO()
    symbol.save(out, kind="svg", border=4, xmldecl=False, svgns=True, omitsize=True)
    return out.getvalue().decode()


def data_matrix_svg(content: str) -> str:
    """Make a GS1 DataMatrix (ISO/IEC 16022), square as every scanner reads it.

    Parameters
    ----------
    content
        Element strings with their application identifiers in brackets.

    Returns
    -------
    str
        SVG source.
    """
    import zxingcpp

    # An unknown option is ignored in silence, so a test looks at the symbol's shape.
    symbol = zxingcpp.create_barcode(content, zxingcpp.BarcodeFormat.DataMatrix, gs1=True, forceSquare=True)
    return str(symbol.to_svg())
