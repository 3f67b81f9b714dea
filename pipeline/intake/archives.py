"""What a workbook's file may hold, checked before any library unpacks it.

A workbook is an archive of XML parts (XLSX, ODS) or a disk of sectors in a file (XLS); both can be
made to unpack into more than any machine holds, or to go round for ever.
"""

from __future__ import annotations

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from xml.parsers import expat

from pipeline.intake import limits
from pipeline.intake.files import UnreadableError

ZIP, COMPOUND = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"

NO_BOOK = "it is no workbook, or it is damaged"
SEALED = "it is locked by a password"

_DECLARATION = re.compile(rb"<!\s*(DOCTYPE|ENTITY)", re.IGNORECASE)
_ENCODING = re.compile(rb"""\A<\?xml[^>]*\bencoding\s*=\s*["'](?!utf-?8|us-ascii)""", re.IGNORECASE)
_XML = (".xml", ".rels")
_CHUNK = 2**16
_LOCAL_HEADER = 30


class Archive:
    """An archive whose directory and parts stay within the limits.

    Raises:
        UnreadableError: over a limit, damaged, or with a document type, which no spreadsheet
            writes and which could name entities without end.
    """

    def __init__(self, data: bytes) -> None:
        try:
            parts = zipfile.ZipFile(io.BytesIO(data)).infolist()
        except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError) as error:
            raise UnreadableError(NO_BOOK) from error
        self._data = data
        if len(parts) > limits.MOST_PARTS:
            raise UnreadableError(f"it holds more than {limits.MOST_PARTS:,} parts")
        self.names = {part.filename for part in parts}
        if len(self.names) < len(parts):
            raise UnreadableError(NO_BOOK)  # two parts of one name: readers would take either
        self._left = limits.LARGEST_UNPACKED
        self._parts: dict[str, bytes] = {}
        for part in parts:
            try:
                body = self._unpacked(part)
            except (zlib.error, struct.error) as error:
                raise UnreadableError(NO_BOOK) from error
            if body:
                _plain_xml(body)
                self._parts[part.filename] = body

    def part(self, name: str) -> bytes:
        """An XML part; empty where there is none."""
        return self._parts.get(name, b"")

    def _unpacked(self, part: zipfile.ZipInfo) -> bytes:
        """An XML part's bytes, none of another's.

        All are counted while they come, and must be as many as the directory says: a library that
        believes the stream more than the directory would unpack without end.
        """
        kept = part.filename.lower().endswith(_XML)
        pieces: list[bytes] = []
        size, check = 0, 0
        for piece in self._pieces(part):
            size += len(piece)
            check = zlib.crc32(piece, check)
            self._left -= len(piece)
            if self._left < 0:
                most = limits.megabytes(limits.LARGEST_UNPACKED)
                raise UnreadableError(f"unpacked it is larger than {most}")
            if size > limits.RATIO_FROM and size > limits.LARGEST_RATIO * part.compress_size:
                most = f"{limits.LARGEST_RATIO} times its packed size"
                raise UnreadableError(f"a part of it unpacks to more than {most}")
            if kept:
                pieces.append(piece)
        if size != part.file_size or check != part.CRC:
            raise UnreadableError(NO_BOOK)
        return b"".join(pieces)

    def _pieces(self, part: zipfile.ZipInfo) -> Iterator[bytes]:
        """A part unpacked piece by piece, to the end of its stream."""
        at = part.header_offset
        if self._data[at : at + 4] != ZIP or part.flag_bits & 1:
            raise UnreadableError(NO_BOOK)
        at += _LOCAL_HEADER + sum(struct.unpack_from("<2H", self._data, at + 26))
        packed = self._data[at : at + part.compress_size]
        if part.compress_type == zipfile.ZIP_STORED:
            yield packed
        elif part.compress_type == zipfile.ZIP_DEFLATED:
            unpack = zlib.decompressobj(-zlib.MAX_WBITS)
            while piece := unpack.decompress(packed, _CHUNK):
                yield piece
                packed = unpack.unconsumed_tail
        else:
            raise UnreadableError(NO_BOOK)


def walk(
    part: bytes,
    start: Callable[[str, dict[str, str]], None],
    end: Callable[[str], None],
    text: Callable[[str], None],
) -> None:
    """Hand the elements of an XML part and the text between them to three functions.

    Names keep their prefix.

    Raises:
        UnreadableError: it is no whole XML.
    """
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = text
    try:
        parser.Parse(part, True)  # noqa: FBT003  # expat takes it by place only
    except expat.ExpatError as error:
        raise UnreadableError(NO_BOOK) from error


def _plain_xml(body: bytes) -> None:
    """Refuse what would make the pattern searches and the parsers of a part disagree."""
    if body[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\x00" in body[:4] or _ENCODING.match(body):
        raise UnreadableError(NO_BOOK)
    if _DECLARATION.search(body):
        raise UnreadableError("it declares a document type, which no spreadsheet writes")


# --- the sectors of an XLS file ----------------------------------------------------------------

_FREE, _END, _FAT, _DIFAT = 0xFFFFFFFF, 0xFFFFFFFE, 0xFFFFFFFD, 0xFFFFFFFC
_HEADER = 512
_IN_HEADER = 109
"""Places of the sector table that the header itself lists."""


def check_sectors(data: bytes) -> None:
    """Follow every chain of sectors once; a reader that follows a ring never ends.

    Raises:
        UnreadableError: a chain goes round, or leads outside the file.
    """
    try:
        _check_sectors(data)
    except (struct.error, IndexError) as error:
        raise UnreadableError(NO_BOOK) from error


def _check_sectors(data: bytes) -> None:
    shift = struct.unpack_from("<H", data, 30)[0]
    if shift not in (9, 12):
        raise UnreadableError(NO_BOOK)
    size = 1 << shift
    count = (len(data) - _HEADER) // size + 1
    (directory,) = struct.unpack_from("<I", data, 48)
    small, _, more, extra = struct.unpack_from("<4I", data, 60)
    listed = list(struct.unpack_from(f"<{_IN_HEADER}I", data, 76))

    def sector(number: int) -> tuple[int, ...]:
        if not 0 <= number < count:
            raise UnreadableError(NO_BOOK)
        piece = data[_HEADER + number * size :][:size].ljust(size, b"\xff")
        return struct.unpack(f"<{size // 4}I", piece)

    for _ in range(min(extra, count)):
        if more in (_FREE, _END):
            break
        *further, more = sector(more)
        listed += further
    table: list[int] = []
    for number in listed:
        if number not in (_FREE, _END):
            table += sector(number)
        if len(table) > count + size:
            break
    _no_rings(table, count)
    entries = [n for start in (directory, small) for n in _chain(table, start)]
    _no_rings([n for number in _chain(table, small) for n in sector(number)], 2**32)
    if len(entries) > count:
        raise UnreadableError(NO_BOOK)


def _no_rings(table: list[int], count: int) -> None:
    """Refuse a table in which a chain comes back to itself or two chains join."""
    seen: set[int] = set()
    for following in table:
        if following >= _DIFAT:
            continue
        if following in seen or following >= count:
            raise UnreadableError("its sectors are chained in a ring or lead outside the file")
        seen.add(following)
    state = bytearray(len(table))
    for start in range(len(table)):
        at, path = start, []
        while at < len(table) and not state[at]:
            state[at] = 1
            path.append(at)
            at = table[at]
            if at < len(table) and state[at] == 1:
                raise UnreadableError("its sectors are chained in a ring or lead outside the file")
        for one in path:
            state[one] = 2


def _chain(table: list[int], start: int) -> list[int]:
    chain: list[int] = []
    while start < len(table) and len(chain) <= len(table):
        chain.append(start)
        start = table[start]
    return chain
