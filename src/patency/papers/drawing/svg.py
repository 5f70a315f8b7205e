"""A small writer of SVG elements, in millimetres on paper, black and grey only."""

from __future__ import annotations

from xml.etree import ElementTree as ET

SVG_NAMESPACE = "http://www.w3.org/2000/svg"
FONT = "Atkinson Hyperlegible Next, Verdana, sans-serif"
INK = "#111"
LIT = "#ffd23f"
"""Fill of what a hand goes to now; never what tells it alone."""
WIDTH_OF_A_SIGN = 0.64
"""Width of a bold digit or capital against the height of its type; the widest in the typeface is a little narrower."""


class Picture:
    """A picture that grows element by element.

    Parameters
    ----------
    width_mm
        Its width on paper; coordinates are millimetres from the upper left corner.
    height_mm
        Its height.
    title
        What it shows, for people who cannot see it.
    """

    def __init__(self, width_mm: float, height_mm: float, title: str) -> None:
        self.width_mm = width_mm
        self.height_mm = height_mm
        self._root = ET.Element(
            "svg",
            {
                "xmlns": SVG_NAMESPACE,
                "viewBox": f"0 0 {_number(width_mm)} {_number(height_mm)}",
                "width": f"{_number(width_mm)}mm",
                "height": f"{_number(height_mm)}mm",
                "role": "img",
                "font-family": FONT,
            },
        )
        ET.SubElement(self._root, "title").text = title

    def add(self, tag: str, **attributes: float | str) -> None:
        """Add one element.

        Parameters
        ----------
        tag
            SVG element name.
        **attributes
            Its attributes; underscores become hyphens, numbers are millimetres.
        """
        written = {
            key.rstrip("_").replace("_", "-"): value if isinstance(value, str) else _number(value)
            for key, value in attributes.items()
        }
        ET.SubElement(self._root, tag, written)

    def text(self, x: float, y: float, words: str, size_mm: float, **attributes: float | str) -> None:
        """Write words, centred on x unless ``text_anchor`` says otherwise.

        Parameters
        ----------
        x
            Anchor on the base line, across [mm].
        y
            The base line, down [mm].
        words
            The words.
        size_mm
            Font size.
        **attributes
            More attributes.
        """
        self.add("text", x=x, y=y, font_size=size_mm, **{"text_anchor": "middle", "fill": INK, **attributes})
        self._root[-1].text = words

    def name(self, x: float, y: float, words: str, size_mm: float, room_mm: float) -> None:
        """Write a name with a white rim, in type small enough for the room there is.

        Parameters
        ----------
        x
            Its middle, across [mm].
        y
            The base line, down [mm].
        words
            The name.
        size_mm
            Font size where there is room.
        room_mm
            How wide it may become.
        """
        fitting = min(size_mm, room_mm / (WIDTH_OF_A_SIGN * len(words)))
        self.text(x, y, words, fitting, font_weight="bold", paint_order="stroke", stroke="white", stroke_width=0.8)

    def tag(self, x: float, y: float, letters: str, size_mm: float) -> None:
        """Write letters white in a black box; nothing where there are none.

        Parameters
        ----------
        x
            Its middle, across [mm].
        y
            Its middle, down [mm].
        letters
            The letters.
        size_mm
            Font size.
        """
        if not letters:
            return
        width, height = size_mm * (0.6 + WIDTH_OF_A_SIGN * len(letters)), size_mm * 1.2
        self.add("rect", x=x - width / 2, y=y - height / 2, width=width, height=height, rx=0.9, fill=INK)
        self.text(x, y + 0.36 * size_mm, letters, size_mm, fill="white", font_weight="bold")

    def mirror(self) -> None:
        """Turn what has been drawn so far from left to right."""
        drawn = [element for element in self._root if element.tag != "title"]
        group = ET.SubElement(self._root, "g", {"transform": f"translate({_number(self.width_mm)} 0) scale(-1 1)"})
        for element in drawn:
            self._root.remove(element)
            group.append(element)

    def to_text(self) -> str:
        """Return the picture as SVG source."""
        return ET.tostring(self._root, encoding="unicode")


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")
