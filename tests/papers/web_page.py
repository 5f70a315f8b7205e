"""What a browser and a screen reader make of a page."""

from __future__ import annotations

from html.parser import HTMLParser

EMPTY = frozenset({"meta", "input", "br", "link", "img", "hr"})
OF_DRAWINGS = frozenset({"line", "rect", "circle", "ellipse", "polygon", "polyline", "path", "use"})


class WebPage(HTMLParser):
    """A page read tag by tag; a tag that does not close what is open is a fault."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.boxes = 0
        self.named_boxes = 0
        self.references: list[str] = []
        self.headings: list[tuple[str, str]] = []
        self.lang = ""
        self.titled = False
        self.pictures_without_words = 0
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Open a tag."""
        given = dict(attrs)
        self.references += [value or "" for name, value in attrs if name in {"src", "href", "xlink:href", "data"}]
        if tag == "html":
            self.lang = given.get("lang") or ""
        if tag == "input":
            self.boxes += 1
            self.named_boxes += "aria-label" in given or "label" in self.open
        if tag in {"h1", "h2", "h3"}:
            self.headings.append((tag, ""))
        if tag == "img":
            self.pictures_without_words += not given.get("alt")
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Open a tag that closes itself."""
        self.handle_starttag(tag, attrs)
        if tag not in EMPTY:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        """Close a tag."""
        if tag not in EMPTY:
            last = self.open.pop()
            if last != tag:
                raise ValueError(f"line {self.getpos()[0]}: </{tag}> closes <{last}>")

    def handle_data(self, data: str) -> None:
        """Read words."""
        if self.open and self.open[-1] == "title" and "head" in self.open:
            self.titled = bool(data.strip())
        if self.open and self.open[-1] in {"h1", "h2", "h3"}:
            tag, words = self.headings[-1]
            self.headings[-1] = (tag, words + data)

    @property
    def references_outside(self) -> list[str]:
        """Addresses that lead out of the page."""
        return [reference for reference in self.references if not reference.startswith("#")]
