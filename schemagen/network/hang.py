"""Parts with one opening hang on a pipe (`at: TAG.port`): a tee is made for each."""

from collections.abc import Callable, Mapping

from schemagen.base.place import Place
from schemagen.network.network import Part, PortId
from schemagen.network.runs import Piece, Want, is_signal, through
from schemagen.parts.kind import PartKind


def hang(pieces: list[Piece], parts: Mapping[str, Part], make_tee: Callable[[Place, str], str]) -> list[Want]:
    """Hangs every part with `at:` on the pipe of that port; the first listed sits nearest to the port.

    `make_tee(place in the list, place on the drawing)` makes a tee and returns its tag. Pieces are split in place.
    A port without a pipe takes the part itself. Returns what could not be hung.
    """
    hangers = {tag: part for tag, part in parts.items() if "at" in part.values}
    hanging = _Hanging(pieces, parts, make_tee)
    for tag in _hosts_first(hangers):
        hanging.hang(hangers[tag])
    return hanging.wants


def _hosts_first(hangers: Mapping[str, Part]) -> list[str]:
    """The order of the list, but a part after the one it hangs on."""
    order: dict[str, None] = {}
    for tag in hangers:
        chain: dict[str, None] = {}
        while tag in hangers and tag not in order and tag not in chain:
            chain[tag] = None
            tag = hangers[tag].values["at"].tag
        order |= dict.fromkeys(reversed(chain))
    return list(order)


def opening_to_hang_by(kind: PartKind) -> str | None:
    """The opening by which a part can hang on a pipe: its only one, or its only dead end (a relief valve's inlet)."""
    wet = [p for p in kind.ports.values() if not is_signal(p)]
    dead = [p for p in wet if p.role == "dead" and p.need == "must"]
    must = [p for p in wet if p.need == "must"]
    for choice in (wet, dead, must):
        if len(choice) == 1:
            return choice[0].name
    return None


class _Hanging:
    def __init__(self, pieces: list[Piece], parts: Mapping[str, Part], make_tee: Callable[[Place, str], str]) -> None:
        self.pieces, self.parts, self.make_tee = pieces, parts, make_tee
        self.wants: list[Want] = []
        self.at: dict[PortId, Piece] = {}
        self.beyond: dict[PortId, PortId] = {}
        for piece in reversed(pieces):
            self.at[piece.start] = self.at[piece.end] = piece

    def hang(self, part: Part) -> None:
        host = self._host(part)
        by = opening_to_hang_by(part.kind)
        if host is None:
            return
        own = PortId(part.tag, by or "")
        if by is None:
            names = ", ".join(p.name for p in part.kind.ports.values() if not is_signal(p))
            self._refuse(
                part, f"{part.tag} ({part.kind.name}) has more than one opening ({names})", "join it with connections"
            )
        elif own == host:
            self._refuse(part, f"{part.tag} cannot hang on itself", "name an opening of another part")
        elif own in self.at:
            self._refuse(part, f"{part.tag} hangs at {host} and has a pipe as well", "leave out at:, or the connection")
        elif host in self.at:
            self._tee_off(part, own, host)
        else:
            self._join(host, own, part)

    def _host(self, part: Part) -> PortId | None:
        host = part.values["at"]
        if host.port:
            return host
        kind = self.parts[host.tag].kind
        way = through(kind)
        name = way[1] if way else opening_to_hang_by(kind)
        if name is None:
            names = ", ".join(f"{host.tag}.{p.name}" for p in kind.ports.values() if not is_signal(p))
            self._refuse(part, f"{part.tag}, at: {host.tag} does not say which pipe", f"write at: and one of: {names}")
            return None
        return PortId(host.tag, name)

    def _tee_off(self, part: Part, own: PortId, host: PortId) -> None:
        split_at = self.beyond.get(host, host)
        piece = self.at[split_at]
        tee = self.make_tee(part.line, self._place(part, piece))
        a, b = PortId(tee, "a"), PortId(tee, "b")
        second = Piece(b, piece.end, piece.line, piece.values, piece.texts)
        piece.end = a
        self._register(piece)
        self._register(second)
        self.pieces.append(second)
        self.beyond[host] = b if split_at == piece.start else a
        short = piece if self.beyond[host] == b else second
        short.values = {k: v for k, v in short.values.items() if k != "length"}
        self._join(PortId(tee, "branch"), own, part)

    def _join(self, host: PortId, own: PortId, part: Part) -> None:
        leaves = part.kind.ports[own.port].role == "out"
        size = {"size": part.values["size"]} if "size" in part.values else {}
        texts = {"size": part.texts["size"]} if "size" in part.texts else {}
        piece = Piece(own if leaves else host, host if leaves else own, part.line, size, texts)
        self.pieces.append(piece)
        self._register(piece)

    def _register(self, piece: Piece) -> None:
        self.at[piece.start] = self.at[piece.end] = piece

    def _place(self, part: Part, piece: Piece) -> str:
        if part.place:
            return part.place
        a, b = (self.parts[end.tag].place for end in (piece.start, piece.end))
        return a if a == b else ""

    def _refuse(self, part: Part, message: str, cure: str) -> None:
        self.wants.append(
            Want("", part.tag, part.line, check="unknown-end", message=message, cure=cure, tags=(part.tag,))
        )
