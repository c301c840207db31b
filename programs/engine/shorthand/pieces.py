"""Reads the pieces of a group of sets: loads, and repetitions, time or way."""

from dataclasses import dataclass, replace
from typing import Final

from programs.engine.shorthand.cursor import Cursor
from programs.engine.shorthand.tokens import LONGEST_NUMBER, Numbers, Token, loads_of, metres_of, seconds_of

REPS_ASKED_ABOVE: Final = 50  # more repetitions in one set are asked about
SIDES: Final = ("LEFT", "RIGHT")
MINUTES_IN_DAY: Final = 24 * 60


@dataclass(frozen=True, slots=True)
class LoadPiece:
    """One load; ``sure`` when its unit, sign or convention was written, so that it can be nothing else."""

    value: float
    unit: str | None = None
    entry: str | None = None
    band: str = ""
    sure: bool = False
    other: float | None = None  # its value in the other reading of the comma


@dataclass(frozen=True, slots=True)
class RepPiece:
    """What one set came to; ``done`` is False for a set marked as left out."""

    reps: int | None = None
    seconds: int | None = None
    metres: int | None = None
    left: int | None = None
    right: int | None = None
    open_ended: bool = False
    failure: bool = False
    bursts: tuple[int, ...] = ()
    rir: float | None = None
    done: bool = True


class LoadReader(Cursor):
    """Reads loads: "60", "62,5 kg", "BW+10", "-15", "pin 7", "24 each"."""

    def loads(self, head: bool = False) -> list[LoadPiece] | None:
        """A list of loads parted by "/" or ","; a unit at its end holds for all. ``head``: before the "x"."""
        pieces = self._load()
        if pieces is None:
            return None
        while self.kind() in ("SLASH", "COMMA"):
            mark = self.save()
            self.at += 1
            ends = self.kind(1) in ("AT", "SETS") or (self.kind(1) == "X" and not head)
            apart = head and self.spaced() and self.kind(-1) == "COMMA"
            more = None if apart or (self.kind() == "RUN" and ends) else self._load()
            if more is None:
                self.restore(mark)
                break
            pieces += more
        last = pieces[-1]
        if len(pieces) > 1 and last.unit and not any(piece.unit for piece in pieces[:-1]):
            pieces = [replace(piece, unit=last.unit, entry=piece.entry or last.entry, sure=True) for piece in pieces]
        return pieces

    def _load(self) -> list[LoadPiece] | None:
        if self.take("BW"):
            sign = self.kind()
            if sign in ("PLUS", "MINUS") and self.kind(1) == "RUN":
                self.at += 1
                return self._number("added" if sign == "PLUS" else "assisted")
            return [LoadPiece(0.0, None, "added", sure=True)]
        if self.kind() in ("PLUS", "MINUS") and self.kind(1) == "RUN" and not self.spaced(1):
            sign = self.kind()
            self.at += 1
            if sign == "MINUS" and self.load_entry not in ("assisted", "added"):
                self.doubt("sign_unclear", "-" + self.token().text)
            return self._number("added" if sign == "PLUS" else "assisted")
        if self.kind() in ("PIN", "HASH"):
            ahead = 2 if self.kind() == "PIN" and self.kind(1) == "HASH" else 1
            if self.kind(ahead) == "RUN":
                self.at += ahead
                return self._number("numbered_setting")
            return None
        if self.kind() == "BAND" and self.kind(1) in ("WORD", "SIDE"):
            self.at += 1
            return [LoadPiece(0.0, None, "band", self._words(), sure=True)]
        if self.kind() == "WORD" and (self.load_entry == "band" or self.kind(1) == "BAND"):
            label = self._words()
            self.take("BAND")
            return [LoadPiece(0.0, None, "band", label, sure=True)]
        return self._number(None) if self.kind() == "RUN" else None

    def _words(self) -> str:
        start = self.at
        while self.kind() == "WORD":
            self.at += 1
        return self.span(start)

    def _number(self, entry: str | None) -> list[LoadPiece] | None:
        token = self.token()
        numbers = loads_of(token.text)
        self.at += 1
        unit = None
        if self.kind() == "UNIT":
            unit = "lb" if self.token().text.casefold()[0] in "lp" else "kg"
            self.at += 1
        elif self.kind() == "HASH" and not self.spaced() and entry != "numbered_setting":
            unit = "lb"
            self.at += 1
        a_side = self.kind() == "EACH" and self.token().text.casefold() == "e" and self.kind(1) != "X"
        if entry in (None, "added", "assisted") and not a_side:
            if self.take("EACH"):
                entry = entry or "per_hand"
            elif self.take("TOTAL"):
                entry = entry or "total"
        return self._pieces(token, numbers, unit, entry)

    def _pieces(self, token: Token, numbers: Numbers, unit: str | None, entry: str | None) -> list[LoadPiece] | None:
        if numbers.doubt:
            readings = [show_number(value) + f" {unit or self.unit}" for value in numbers.values]
            readings += [show_number(value) + f" {unit or self.unit}" for value in numbers.other]
            one = numbers.doubt == "thousands_mark"
            self.doubt(numbers.doubt, token.text, *(readings if one else ()))
        if not numbers.values:
            return None
        sure = unit is not None or entry is not None
        fields = token.text.split(",")
        listed = not sure and len(fields) == 2 and all(len(figure) == 2 for figure in fields)
        other = float(fields[1]) if listed and fields[1] not in ("25", "50", "75") else None
        return [LoadPiece(value, unit, entry, "", sure, other) for value in numbers.values]


class Reader(LoadReader):
    """Reads results on top of loads and efforts."""

    def reps(self) -> tuple[list[RepPiece], str] | None:
        """A list of results and the kind of its separator: COMMA, SLASH, MINUS, SPACE, or "" for one."""
        pieces = self._results()
        if pieces is None:
            return None
        separator = "COMMA" if len(pieces) > 1 else ""
        while True:
            mark = self.save()
            found = self._separator()
            if (
                not found
                or (separator and found != separator)
                or self.begins_group()
                or (self.kind() == "RUN" and self.is_rated(1))
                or (found == "SPACE" and self.kind(1) == "AT")
            ):
                self.restore(mark)
                break
            more = self._results()
            if more is None:
                self.restore(mark)
                break
            pieces += more
            separator = found
        if self.take("REPS") and separator in ("", "SPACE", "COMMA", "SLASH"):
            separator = separator and "SAID"
        if self.take("PERSIDE", "EACH"):
            pieces = [replace(piece, left=piece.reps, right=piece.reps) for piece in pieces]
        return pieces, separator

    def _separator(self) -> str:
        kind = self.kind()
        if kind in ("COMMA", "SLASH"):
            self.at += 1
            return kind
        if kind == "MINUS" and self.kind(1) == "RUN" and not self.spaced():
            self.at += 1
            return "MINUS"
        return "SPACE" if kind in ("RUN", "TIME", "DISTANCE") and self.spaced() else ""

    def _results(self) -> list[RepPiece] | None:
        """One result, or several where the run of digits is itself a list."""
        kind = self.kind()
        if kind == "MINUS" and not (self.kind(1) == "RUN" and not self.spaced(1)):
            self.at += 1
            return [RepPiece(done=False)]
        if kind in SIDES or (kind == "RUN" and self.kind(1) in SIDES and not self.spaced(1)):
            return self._sided()
        open_ended = self.take("OPEN")
        start = self.at
        pieces = self._measure()
        if pieces is None:
            if open_ended:
                self.at -= 1
            return None
        return [*pieces[:-1], self._suffixes(replace(pieces[-1], open_ended=open_ended), start)]

    def _sided(self) -> list[RepPiece] | None:
        mark = self.save()
        found: dict[str, int] = {}
        while len(found) < 2:
            ahead = 0 if self.kind() == "RUN" else 1
            side = self.kind(1 - ahead)
            if side not in SIDES or side in found or self.kind(ahead) != "RUN":
                break
            figures = self.token(ahead).text
            if not figures.isdecimal() or len(figures) > LONGEST_NUMBER:
                break
            found[side] = int(figures)
            self.at += 2
            if len(found) == 1 and self.kind() in ("SLASH", "COMMA") and self._side_follows():
                self.at += 1
        if not found:
            self.restore(mark)
            return None
        left, right = found.get("LEFT"), found.get("RIGHT")
        if left is None or right is None:
            self.doubt("one_side_only", self.span(mark[0]))
        return [RepPiece(reps=min(found.values()), left=left, right=right)]

    def _side_follows(self) -> bool:
        return self.kind(1) in SIDES or (self.kind(1) == "RUN" and self.kind(2) in SIDES)

    def _measure(self) -> list[RepPiece] | None:
        kind = self.kind()
        if kind == "TIME":
            token = self.token()
            self.at += 1
            seconds = seconds_of(token.text)
            if seconds is None:
                return None
            if token.text.count(":") == 2 and seconds >= 3600 and token.text.endswith("00"):
                self.doubt("day_fraction", token.text, f"{round(seconds / 60)} s")
                seconds /= 60
            return [RepPiece(seconds=round(seconds))]
        if kind == "DISTANCE":
            token = self.token()
            self.at += 1
            if self.rep_unit == "seconds":
                self.doubt("metres_or_minutes", token.text)
            return [RepPiece(metres=round(metres_of(token.text)))]
        return self._counted() if kind == "RUN" else None

    def _counted(self) -> list[RepPiece] | None:
        token = self.token()
        figures = token.text.split(",")
        if any(len(figure) > LONGEST_NUMBER for figure in figures):
            self.doubt("number_too_large", token.text)
            return None
        self.at += 1
        pieces = []
        for figure in figures:
            value = float(figure.replace(".", "", figure.count(".") - 1) if "." in figure else figure)
            if self.rep_unit == "seconds" and 0 < value < 1:
                value *= MINUTES_IN_DAY
                self.doubt("day_fraction", token.text, f"{round(value)} s")
            elif not value.is_integer():
                self.doubt("reps_not_whole", token.text)
            pieces.append(self._plain(round(value)))
        return pieces

    def _plain(self, count: int) -> RepPiece:
        if self.kind() != "REPS":
            if self.rep_unit == "seconds":
                return RepPiece(seconds=count)
            if self.rep_unit == "metres":
                return RepPiece(metres=count)
        elif self.rep_unit != "reps":
            self.doubt("unexpected_measure", str(count))
        return RepPiece(reps=count)

    def _suffixes(self, piece: RepPiece, start: int) -> RepPiece:
        """What may stand behind one result: "e", "+", "+3", "F", "@2"."""
        bursts: list[int] = []
        while self.kind() == "PLUS" and self.kind(1) == "RUN" and self._burst_follows():
            bursts.append(int(self.token(1).text))
            self.at += 2
        if bursts:
            piece = replace(piece, bursts=tuple(bursts))
        if self.kind() == "PLUS" and not self.spaced():
            self.at += 1
            piece = replace(piece, open_ended=True)
        if self.kind() == "EACH" and not self.spaced():
            self.at += 1
            piece = replace(piece, left=piece.reps, right=piece.reps)
        if self.kind() == "FAIL" and not self.spaced():
            self.at += 1
            piece = replace(piece, failure=True, rir=0.0)
        more = self.kind(2) in ("COMMA", "SLASH") and self.kind(4) == "AT"
        closing = self._inline_before(start)
        if self.kind() == "AT" and self.kind(1) == "RUN" and (more or closing):
            figures = self.token(1).text
            value = float(figures.replace(",", ".")) if figures.count(".") + figures.count(",") <= 1 else 99.0
            if value <= 10:
                self.at += 2
                piece = replace(piece, rir=self.effort(value, "", figures))
        return piece

    def _inline_before(self, start: int) -> bool:
        before = [token.kind for token in self.tokens[max(0, start - 3) : start]]
        return before in (["AT", "RUN", "COMMA"], ["AT", "RUN", "SLASH"])

    def _burst_follows(self) -> bool:
        figures = self.token(1).text
        return figures.isdecimal() and len(figures) < 3 and 0 < int(figures) <= REPS_ASKED_ABOVE


def show_number(value: float, decimal_mark: str = ".") -> str:
    """Shortest text of a number; three decimals get a fourth, so that no mark looks like a thousand's."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    whole, _, fraction = text.partition(".")
    if len(fraction) == 3:
        fraction += "0"
    return f"{whole}{decimal_mark}{fraction}" if fraction else whole
