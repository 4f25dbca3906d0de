"""HTML by small pure functions; every name and number that is not already markup is escaped."""

import html
from collections.abc import Iterable, Sequence

EMPTY_ELEMENTS = frozenset({"br", "meta", "line", "path", "polyline", "polygon", "rect", "circle", "image"})


class Markup(str):
    """Text that is HTML already; any other text is escaped when it becomes a child of an element."""

    __slots__ = ()


def escaped(text: str) -> Markup:
    """Return text as HTML; markup stays as it is."""
    return text if isinstance(text, Markup) else Markup(html.escape(text, quote=True))


def element(name: str, /, *children: str, **attributes: str | float | None) -> Markup:
    """Write one element; `class_` and `font_size` become ``class`` and ``font-size``; None leaves one out.

    Examples
    --------
    >>> print(element("p", "5 < 6", class_="note"))
    <p class="note">5 &lt; 6</p>
    """
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{html.escape(_value(value), quote=True)}"'
        for key, value in attributes.items()
        if value is not None
    )
    if name in EMPTY_ELEMENTS and not children:
        return Markup(f"<{name}{written}/>")
    return Markup(f"<{name}{written}>{joined(children)}</{name}>")


def joined(children: Iterable[str]) -> Markup:
    """Put several pieces one after the other."""
    return Markup("".join(escaped(child) for child in children))


def _value(value: str | float) -> str:
    return value if isinstance(value, str) else short(value)


def short(value: float) -> str:
    """Write a number to one decimal at most.

    Examples
    --------
    >>> short(12.04), short(-3.25)
    ('12', '-3.2')
    """
    return f"{round(value, 1) + 0.0:.1f}".removesuffix(".0")  # adding zero takes the sign off a minus zero


def table(heads: Sequence[str], rows: Iterable[Sequence[str]], *, class_: str | None = None) -> Markup:
    """Make a table whose first column names the row; it scrolls by itself where the page is narrow."""
    head = element("tr", *(element("th", text, scope="col") if text else element("td", "") for text in heads))
    body = (
        element("tr", element("th", row[0], scope="row"), *(element("td", cell) for cell in row[1:]))
        for row in rows
    )
    whole = element("table", element("thead", head), element("tbody", *body), class_=class_)
    return element(
        "div",
        whole,
        class_="scroll",
        tabindex="0",
        role="group",
        aria_label=f"Table: {heads[0] or heads[-1]}",
    )


def behind(summary: str, content: str) -> Markup:
    """Keep the table behind a chart closed until asked for."""
    return element("details", element("summary", summary), content)


def figure(caption: str, picture: str, table_view: str = "", note: str = "") -> Markup:
    """Frame a picture with its title above, a note under it and its table behind."""
    remark = element("p", note, class_="note") if note else Markup("")
    held = behind("Table", table_view) if table_view else Markup("")
    return element("figure", element("figcaption", caption), picture, remark, held)
