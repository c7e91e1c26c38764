"""A binary stream as blocks of whole lines: containers are told, gzip is unpacked.

Memory stays flat whatever comes: a line longer than any command is passed over while it is
read. It looks at no G-code.
"""

from __future__ import annotations

import gzip
import io
import zlib
from collections.abc import Callable, Iterator
from typing import BinaryIO, cast

from advisor.base import PrintError, Span
from advisor.prints.dialect import Notes, PrintDialect

__all__ = ["PrintSource"]

_HEAD = 512
_GZIP = b"\x1f\x8b"
_CONTROL = frozenset(range(32)) - {9, 10, 12, 13, 27}
_MOST_CONTROL = 0.02  # share of control characters from which the head is no text


class _Counted(io.RawIOBase):
    """The user's stream with a head that was read already; counts what passes."""

    def __init__(self, stream: BinaryIO, progress: Callable[[int], None] | None) -> None:
        self._stream, self._progress = stream, progress
        self._head = b""
        self.count = 0

    def readable(self) -> bool:
        return True

    def put_back(self, head: bytes) -> None:
        self._head = head

    def take(self, size: int) -> bytes:
        if self._head:
            data, self._head = self._head[:size], self._head[size:]
            return data
        try:
            data = self._stream.read(size) or b""
        except OSError as err:
            words = err.strerror or str(err)
            raise PrintError(f"the print cannot be read: {words}", "check the file") from None
        self.count += len(data)
        if self._progress is not None and data:
            self._progress(self.count)
        return data

    def readinto(self, target: object) -> int:
        view = memoryview(target).cast("B")  # type: ignore[arg-type]
        data = self.take(len(view))
        view[: len(data)] = data
        return len(data)


class PrintSource:
    """Blocks of whole lines of a print.

    Parameters
    ----------
    stream : binary stream
        Plain or gzip; need not be seekable.
    dialect : PrintDialect
        Which first bytes mark a file of another kind.
    notes : Notes
        Where overlong lines and cut archives are counted.
    block_size : int
        How much is read at a time.
    progress : callable, optional
        Called with the number of bytes of `stream` read so far.
    name : str
        How the print is called in errors.
    """

    def __init__(
        self,
        stream: BinaryIO,
        *,
        dialect: PrintDialect,
        notes: Notes,
        block_size: int,
        progress: Callable[[int], None] | None = None,
        name: str = "-",
    ) -> None:
        self._raw = _Counted(stream, progress)
        self._dialect, self._notes, self._name = dialect, notes, name
        self._size = block_size
        self._longest = int(dialect.limits["line_length"])
        self.lines = 0  # line ends before the block that is out now

    @property
    def bytes_read(self) -> int:
        """Bytes of the user's stream read so far."""
        return self._raw.count

    def blocks(self) -> Iterator[bytes]:
        """Yield blocks that end in a line end; a last line without one gets one.

        Raises
        ------
        PrintError
            If the first bytes are those of another kind of file, or there are none.
        """
        rest = b""
        for data in self._chunks():
            cut = data.rfind(b"\n") + 1
            if cut == 0:
                rest += data
                if len(rest) > self._longest:
                    rest = self._pass_over(rest)
                continue
            block = rest + data[:cut]
            yield block
            self.lines += block.count(b"\n")
            rest = data[cut:]
        if rest:
            self._notes.add("no-line-end", self.lines + 1, rest[:200])
            yield rest + b"\n"
            self.lines += 1

    def _pass_over(self, rest: bytes) -> bytes:
        """Forget a line that is too long but for a mark that makes its end a comment."""
        if not rest.startswith(b";\0"):
            self._notes.add("overlong-line", self.lines + 1, rest[:200])
        return b";\0"

    def _chunks(self) -> Iterator[bytes]:
        head = self._head(self._raw.take)
        if not head.startswith(_GZIP):
            yield from self._text(head, self._raw.take)
            return
        self._raw.put_back(head)
        unpacked = gzip.GzipFile(fileobj=cast(BinaryIO, self._raw), mode="rb")

        def take(size: int) -> bytes:
            try:
                return unpacked.read1(size)
            except (EOFError, zlib.error, gzip.BadGzipFile) as err:
                self._notes.add("cut-archive", self.lines + 1, str(err))
                return b""

        yield from self._text(self._head(take), take)

    def _head(self, take: Callable[[int], bytes]) -> bytes:
        head = b""
        while len(head) < _HEAD and (data := take(_HEAD - len(head))):
            head += data
        return head

    def _text(self, head: bytes, take: Callable[[int], bytes]) -> Iterator[bytes]:
        yield self._checked(head)
        while data := take(self._size):
            yield data

    def _checked(self, head: bytes) -> bytes:
        if not head:
            problem = "nothing in the archive can be unpacked" if self._raw.count else "it is empty"
            raise self._error(f"this is no print: {problem}", "export the print again")
        for container in self._dialect.containers:
            if head.startswith(container.starts):
                if container.skip:
                    return head[len(container.starts) :]
                raise self._error(f"this is {container.name}, no G-code", container.remedy)
        control = sum(byte in _CONTROL for byte in head)
        if control > _MOST_CONTROL * len(head):
            raise self._error("this is binary data, no G-code", "give the sliced print as text")
        return head

    def _error(self, problem: str, remedy: str | None) -> PrintError:
        return PrintError(problem, remedy, Span(self._name, 1))
