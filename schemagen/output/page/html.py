"""HTML that is well-formed XML too; whatever stands in it comes from `tag` and `words`, so text is only ever text."""

from schemagen.output.as_svg import escaped, start_tag

_VOID = ("meta", "input")


def tag(name: str, /, *inside: str, **attributes: str | None) -> str:
    """An element with attributes as in as_svg.start_tag; what stands inside is markup already."""
    start = start_tag(name, **attributes)
    return f"{start[:-1]}/>" if name in _VOID else f"{start}{''.join(inside)}</{name}>"


def words(name: str, text: str, /, **attributes: str | None) -> str:
    """An element with text inside."""
    return tag(name, escaped(text), **attributes)


def rows(kind: str, items, /, **attributes: str | None) -> str:
    """A list ("ul" or "ol") of markup, "" if there is none."""
    items = [tag("li", item) for item in items]
    return tag(kind, *items, **attributes) if items else ""
