"""Writes a web page from a template; nothing else here knows jinja."""

from __future__ import annotations


def write_page(room: str, template: str, **values: object) -> str:
    """Fill a template.

    Parameters
    ----------
    room
        The package the template lies in.
    template
        Its file name.
    **values
        What it shows; text is escaped, a name the template asks for and does not get is an error.

    Returns
    -------
    str
        One HTML page that needs nothing else.
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader(room, "."), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    return environment.get_template(template).render(values)


def inline_svg(svg: str) -> str:
    """Return SVG source as it may stand inside an HTML page: without XML declaration and document type.

    Parameters
    ----------
    svg
        SVG source, possibly a whole file.

    Returns
    -------
    str
        The ``svg`` element.
    """
    return svg[svg.index("<svg") :]
