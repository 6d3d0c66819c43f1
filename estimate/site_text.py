"""The text of a site file: on which line each key stands, how its place is named, and the nearest right word."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches

KeyPath = tuple[str | int, ...]
"""The way to a value: names of tables and keys, and indices of lists."""

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_STRING = re.compile(r'"""(?:\\.|[^\\])*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'', re.DOTALL)
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BARE_VALUE = re.compile(r"[^,\]}#\n]+")
_ESCAPE = re.compile(r'\\(u[0-9a-fA-F]{4}|U[0-9a-fA-F]{8}|["\\btnfre])')
_ESCAPED = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", "e": "\x1b"}


@dataclass(slots=True)
class _Scanner:
    """Walks TOML text that a parser has already accepted; stops quietly where it does not understand."""

    text: str
    position: int = 0
    lines: dict[KeyPath, int] = field(default_factory=dict)
    counts: dict[KeyPath, int] = field(default_factory=dict)
    _line: int = 1
    _counted_to: int = 0

    def line(self) -> int:
        self._line += self.text.count("\n", self._counted_to, self.position)
        self._counted_to = self.position
        return self._line

    def record(self, path: KeyPath, line: int) -> None:
        for length in range(1, len(path) + 1):
            self.lines.setdefault(path[:length], line)

    def skip(self, pattern: re.Pattern[str] = _BLANK) -> str:
        found = pattern.match(self.text, self.position)
        if found is None:
            return ""
        self.position = found.end()
        return found.group()

    def take(self, sign: str) -> bool:
        if not self.text.startswith(sign, self.position):
            return False
        self.position += len(sign)
        return True

    def key(self) -> tuple[str, ...]:
        parts: list[str] = []
        while True:
            self.skip()
            quoted = self.skip(_STRING)
            part = _unquote(quoted) if quoted else self.skip(_BARE_KEY)
            if not part and not quoted:
                return ()
            parts.append(part)
            self.skip()
            if not self.take("."):
                return tuple(parts)

    def resolve(self, parts: Iterable[str]) -> KeyPath:
        path: KeyPath = ()
        for part in parts:
            path += (part,)
            if path in self.counts:
                path += (self.counts[path] - 1,)
        return path

    def value(self, path: KeyPath) -> bool:
        self.skip()
        if self.take("["):
            return self.items(path)
        if self.take("{"):
            return self.pairs(path, "}")
        return bool(self.skip(_STRING) or self.skip(_BARE_VALUE))

    def items(self, path: KeyPath) -> bool:
        index = 0
        while True:
            self.skip()
            if self.take("]"):
                return True
            self.record((*path, index), self.line())
            if not self.value((*path, index)):
                return False
            index += 1
            self.skip()
            self.take(",")

    def pairs(self, path: KeyPath, end: str) -> bool:
        while True:
            self.skip()
            if self.take(end):
                return True
            if not self.pair(path):
                return False
            self.skip()
            self.take(",")

    def pair(self, path: KeyPath) -> bool:
        line = self.line()
        parts = self.key()
        if not parts or not self.take("="):
            return False
        self.record(path + parts, line)
        return self.value(path + parts)

    def header(self) -> KeyPath | None:
        line = self.line()
        self.take("[")
        many = self.take("[")
        parts = self.key()
        if not parts or not self.take("]]" if many else "]"):
            return None
        base = self.resolve(parts[:-1]) + parts[-1:] if many else self.resolve(parts)
        if many:
            self.counts[base] = self.counts.get(base, 0) + 1
            base += (self.counts[base] - 1,)
        self.record(base, line)
        return base


def _unquote(quoted: str) -> str:
    width = 3 if quoted.startswith(('"""', "'''")) else 1
    inner = quoted[width:-width]
    if quoted.startswith("'"):
        return inner
    return _ESCAPE.sub(lambda found: _unescape(found.group(1)), inner)


def _unescape(code: str) -> str:
    if code[0] in "uU":
        number = int(code[1:], 16)
        return chr(number) if number < 0x110000 else "?"
    return _ESCAPED.get(code, code)


def key_lines(text: str) -> dict[KeyPath, int]:
    """Return the line, from 1, of every table, key and list item of the TOML `text` that a parser accepted.

    >>> key_lines('title = "a"\\n[route]\\npoints = [\\n  [1, 2],\\n  [3, 4]]')[("route", "points", 1)]
    5
    >>> key_lines("[[drain]]\\nstation = 1\\n[[drain]]\\nstation = 2")[("drain", 1, "station")]
    4
    """
    scanner = _Scanner(text)
    base: KeyPath | None = ()
    try:
        while base is not None:
            scanner.skip()
            if scanner.position >= len(text):
                break
            if text[scanner.position] == "[":
                base = scanner.header()
            elif not scanner.pair(base):
                break
    except RecursionError:
        return scanner.lines
    return scanner.lines


def line_of(lines: Mapping[KeyPath, int], path: KeyPath) -> int:
    """Return the line of `path`, or of the nearest table or list that holds it; 0 where none is in the text.

    >>> line_of({("trench",): 7}, ("trench", "cover"))
    7
    """
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return 0


def place(path: KeyPath, tables: frozenset[str]) -> str:
    """Return how a user finds `path`: its table in brackets, then key and item; `tables` are the table names.

    >>> place(("lower", "pit", "floor"), frozenset({"lower", "pit"}))
    '[lower.pit] floor'
    >>> place(("route", "points", 2, 0), frozenset({"route"})), place(("drain", 1, "station"), frozenset({"drain"}))
    ('[route] points, item 3, number 1', '[[drain]] 2, station')
    """
    count = 0
    while count < len(path) and (path[count] in tables or isinstance(path[count], int)):
        count += 1
    head, rest = path[:count], path[count:]
    names = ".".join(_printable(part) for part in head if isinstance(part, str))
    indices = [part + 1 for part in head if isinstance(part, int)]
    words = [f"[[{names}]] {indices[0]}" if indices else f"[{names}]"] if names else []
    items = iter(("item", "number"))
    keys = [_printable(part) if isinstance(part, str) else f"{next(items, 'part')} {part + 1}" for part in rest]
    table = words[0] if words else ""
    separator = ", " if indices and keys else " " if table and keys else ""
    return table + separator + ", ".join(keys)


def _printable(word: str) -> str:
    return word if word and word.isprintable() else repr(word)


def nearest(word: str, names: Iterable[str]) -> str:
    """Return the one of `names` that `word` most likely means, or "" where none is near.

    >>> nearest("covr", ["cover", "width"]), nearest("abc", ["cover"])
    ('cover', '')
    """
    folded = {name.casefold(): name for name in names}
    near = get_close_matches(word.strip().casefold(), list(folded), n=1, cutoff=0.6)
    return folded[near[0]] if near else ""
