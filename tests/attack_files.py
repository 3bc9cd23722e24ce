"""Small files that ask for much: bombs, endless structures, absurd sizes, links that lead out.

Each maker returns the bytes of one file; nothing is read here. They are made at test time, so that
no hostile file lies in the repository.
"""

from __future__ import annotations

import base64
import gzip
import itertools
import struct
import zlib
from collections.abc import Callable
from functools import partial

from PIL import Image

from tests.pictures import encoded, tiff

SPACE = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
HEAD = 'width="50mm" height="30mm" viewBox="0 0 50 30"'
DISC = '<circle cx="25" cy="15" r="10" fill="#c81e28"/>'
MB = 2**20


def svg(body: str = DISC, *, head: str = HEAD, before: str = "") -> bytes:
    """An SVG of 50 × 30 mm."""
    return f"{before}<svg {SPACE} {head}>{body}</svg>".encode()


def zeros_deflated(count: int, *, wbits: int = 15, byte: bytes = b"\0") -> bytes:
    """So many equal bytes, deflated in pieces."""
    pack = zlib.compressobj(9, zlib.DEFLATED, wbits)
    piece = byte * MB
    parts = [pack.compress(piece) for _ in range(count // MB)]
    return b"".join([*parts, pack.compress(byte * (count % MB)), pack.flush()])


# --- SVG -----------------------------------------------------------------------------------------


def svg_of(piece: str, *, size: int, packed: bool = True) -> bytes:
    """An SVG that is one piece over and over, up to a size in bytes."""
    data = svg(piece * (size // len(piece)) + DISC)
    return gzip.compress(data) if packed else data


def svg_deep(depth: int) -> bytes:
    """Groups in groups."""
    return svg("<g>" * depth + DISC + "</g>" * depth)


def svg_entities() -> bytes:
    """Ten entities of ten of the one before: 10^10 letters."""
    names = "abcdefghij"
    entities = '<!ENTITY a "aaaaaaaaaa">' + "".join(
        f'<!ENTITY {name} "{f"&{before};" * 10}">' for before, name in itertools.pairwise(names)
    )
    return svg("<text>&j;</text>", before=f"<!DOCTYPE svg [{entities}]>")


def svg_uses() -> bytes:
    """Uses of uses: 10^8 discs of a small file."""
    levels = "".join(
        f'<g id="u{n}">' + f'<use xlink:href="#u{n - 1}"/>' * 10 + "</g>" for n in range(1, 9)
    )
    return svg(f'<defs><g id="u0">{DISC}</g>{levels}</defs><use xlink:href="#u8"/>')


def svg_attributes(count: int) -> bytes:
    """One element with very many attributes."""
    return gzip.compress(svg("<g " + " ".join(f'a{n}=""' for n in range(count)) + f"/>{DISC}"))


def svg_scripts(count: int) -> bytes:
    """Very many scripts, each of which has to be taken out."""
    return gzip.compress(svg("<script/>" * count + DISC))


def svg_blur() -> bytes:
    """Filters over filters, of the whole page."""
    blur = '<filter id="f">' + '<feGaussianBlur stdDeviation="90"/>' * 500 + "</filter>"
    return svg(f'<defs>{blur}</defs><g filter="url(#f)">{DISC}</g>')


def svg_picture(side: int) -> bytes:
    """A picture inside the drawing that unpacks to many pixels."""
    inner = base64.b64encode(png_plain(side)).decode()
    return svg(f'<image href="data:image/png;base64,{inner}" width="50" height="30"/>')


def svg_bad_digits(count: int) -> bytes:
    """A width of very many digits that is no number."""
    return svg(head=f'width="{"1" * count}!" height="1" viewBox="0 0 1 1"')


# --- Pictures ------------------------------------------------------------------------------------


def png_plain(side: int, *, kind: int = 0, bits: int = 8) -> bytes:
    """A PNG of zeros, which packs a thousandfold."""
    samples = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}[kind]
    row = 1 + (side * samples * bits + 7) // 8
    return _png(side, side, kind=kind, bits=bits, packed=zeros_deflated(row * side))


def png_chunk(tag: bytes, head: bytes, size: int) -> bytes:
    """A PNG of 16 × 16 with a chunk that unpacks to `size` bytes."""
    packed = head + zeros_deflated(size, byte=b"a")
    whole = _png(16, 16, kind=2, bits=8, packed=zlib.compress(bytes(49 * 16)))
    return whole[:33] + _chunk(tag, packed) + whole[33:]


def _chunk(tag: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + tag + data + struct.pack(">I", zlib.crc32(tag + data))


def _png(width: int, height: int, *, kind: int, bits: int, packed: bytes) -> bytes:
    head = struct.pack(">IIBBBBB", width, height, bits, kind, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        _chunk(*each) for each in ((b"IHDR", head), (b"IDAT", packed), (b"IEND", b""))
    )


def jpeg_of_scans(side: int, scans: int) -> bytes:
    """A progressive JPEG with one of its scans over and over."""
    data = encoded(Image.new("L", (side, side), 90), "JPEG", progressive=True)
    starts = [at for at in range(len(data) - 1) if data[at : at + 2] == b"\xff\xda"]
    table = data.rindex(b"\xff\xc4", 0, starts[-1])
    last = data[table:-2]
    return data[:-2] + last * scans + b"\xff\xd9"


def gif_of_frames(frames: int, side: int = 16) -> bytes:
    """A GIF of very many small frames."""
    one = encoded(Image.new("P", (1, 1)), "GIF")
    start = one.index(b",")
    head = bytearray(one[:start])
    head[6:10] = struct.pack("<HH", side, side)
    return bytes(head) + one[start:-1] * frames + b";"


def gif_bomb(side: int) -> bytes:
    """A GIF of one color, as large as it may be."""
    return encoded(Image.new("P", (side, side)), "GIF")


def webp_plain(side: int) -> bytes:
    """A lossless WebP of one color, of 36 bytes at any size (RFC 9649, 3.4 to 3.7)."""
    fields = [(0x2F, 8), (side - 1, 14), (side - 1, 14), (1, 1), (0, 3)]  # signature, size, alpha
    fields += [(0, 3)]  # no transform, no cache of colors, one group of codes
    for level in (10, 20, 30, 255):
        fields += [(0b101, 3), (level, 8)]  # a code of one symbol of 8 bits
    fields += [(0b0001, 4)]
    bits, at = 0, 0
    for value, count in fields:
        bits |= value << at
        at += count
    data = bits.to_bytes(at // 8 + 4, "little")
    data += bytes(len(data) % 2)
    chunk = b"VP8L" + struct.pack("<I", len(data)) + data
    return b"RIFF" + struct.pack("<I", 4 + len(chunk)) + b"WEBP" + chunk


def bmp_rle(side: int) -> bytes:
    """A run-length BMP: two bytes for 255 pixels."""
    line = (b"\xff\0" * (side // 255) + bytes([side % 255 or 1, 0])) + b"\0\0"
    rows = line * side + b"\0\1"
    offset = 14 + 40 + 1024
    info = struct.pack("<IiiHHIIiiII", 40, side, side, 1, 8, 1, len(rows), 2835, 2835, 256, 0)
    head = b"BM" + struct.pack("<IHHI", offset + len(rows), 0, 0, offset)
    return head + info + bytes(1024) + rows


# --- TIFF ----------------------------------------------------------------------------------------


def tiff_strip(side: int, *, extra: bool) -> bytes:
    """One deflated strip of zeros, with a spot channel or without."""
    samples = 5 if extra else 3
    tags = {
        256: (4, [side]), 257: (4, [side]), 258: (3, [8] * samples), 259: (3, [8]),
        262: (3, [2]), 277: (3, [samples]), 278: (4, [side]),
        **({338: (3, [0, 0])} if extra else {}),
    }  # fmt: skip
    return tiff(zeros_deflated(side * side * samples), tags)


def tiff_tile(side: int, *, extra: bool, filled: int = 0) -> bytes:
    """A picture of 16 × 16 in one tile of `side`, which unpacks to `filled` bytes."""
    samples = 5 if extra else 3
    data = zeros_deflated(filled or side * side * samples)
    tags = {
        256: (4, [16]), 257: (4, [16]), 258: (3, [8] * samples), 259: (3, [8]), 262: (3, [2]),
        277: (3, [samples]), 322: (4, [side]), 323: (4, [side]), 324: (4, [0]), 325: (4, [0]),
        **({338: (3, [0, 0])} if extra else {}),
    }  # fmt: skip
    body = bytearray(tiff(data, tags))
    count = struct.unpack_from("<H", body, 4 + 4)[0] if body[4:8] == b"\x08\0\0\0" else 0
    found = {}
    for at in range(count):
        place = 10 + 12 * at
        tag = struct.unpack_from("<H", body, place)[0]
        found[tag] = place + 8
    for tile, strip in ((324, 273), (325, 279)):
        body[found[tile] : found[tile] + 4] = body[found[strip] : found[strip] + 4]
    return bytes(body)


def tiff_tags(count: int, tags: int) -> bytes:
    """Many unknown tags, each of `count` numbers, all of them the same bytes."""
    plain = bytearray(tiff(bytes(2 * 16 * 16), {
        256: (3, [16]), 257: (3, [16]), 258: (3, [16]), 259: (3, [1]), 262: (3, [1]), 277: (3, [1]),
        278: (3, [16]),
    }))  # fmt: skip
    first = struct.unpack_from("<I", plain, 4)[0]
    number = struct.unpack_from("<H", plain, first)[0]
    entries = bytes(plain[first + 2 : first + 2 + 12 * number])
    at = len(plain)
    block = bytes(4 * count)
    more = b"".join(struct.pack("<HHII", 40_000 + n, 4, count, at) for n in range(tags))
    body = struct.pack("<H", number + tags) + entries + more + bytes(4)
    plain[4:8] = struct.pack("<I", at + len(block))
    return bytes(plain) + block + body


def tiff_photoshop_names(size: int) -> bytes:
    """Names of channels as empty ones only, in a block of the given size."""
    block = b"8BIM" + struct.pack(">HHI", 1045, 0, size) + bytes(size)
    tags = {
        256: (4, [16]), 257: (4, [16]), 258: (3, [8] * 5), 259: (3, [1]), 262: (3, [2]),
        277: (3, [5]), 278: (4, [16]), 338: (3, [0, 0]), 34377: (7, block),
    }  # fmt: skip
    return tiff(bytes(16 * 16 * 5), tags)


# --- Layered pictures and PDF --------------------------------------------------------------------


def psd_rle(side: int, *, channels: int = 3) -> bytes:
    """A PSD whose flattened picture is run-length zeros: two bytes for 128 pixels."""
    row = b"\x81\0" * (side // 128 + 1)
    head = struct.pack(">4sH6xHIIHH", b"8BPS", 1, channels, side, side, 8, 3)
    sizes = struct.pack(">H", len(row)) * side * channels
    return head + bytes(12) + struct.pack(">H", 1) + sizes + row * side * channels


def pdf_stream(size: int, *, picture: int = 0) -> bytes:
    """A page whose content, or whose one picture, is a deflated stream of `size` bytes."""
    packed = zeros_deflated(size, byte=b" " if not picture else b"\0")
    content, resources = packed, b""
    objects = [b"", b"", b"", b""]
    if picture:
        content = zlib.compress(b"q 100 0 0 100 0 0 cm /I Do Q")
        resources = b"/XObject << /I 5 0 R >>"
    objects[0] = b"<< /Type /Catalog /Pages 2 0 R >>"
    objects[1] = b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>"
    objects[2] = (
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 144 144] /Contents 4 0 R "
        b"/Resources << " + resources + b" >> >>"
    )
    objects[3] = _stream(b"", content)
    if picture:
        extra = f"/Type /XObject /Subtype /Image /Width {picture} /Height {picture} ".encode()
        objects.append(_stream(extra + b"/ColorSpace /DeviceRGB /BitsPerComponent 8 ", packed))
    return _pdf(objects)


def _stream(extra: bytes, data: bytes) -> bytes:
    head = b"<< " + extra + f"/Filter /FlateDecode /Length {len(data)} >>".encode()
    return head + b"\nstream\n" + data + b"\nendstream"


def _pdf(objects: list[bytes]) -> bytes:
    out = bytearray(b"%PDF-1.4\n")
    places = []
    for number, each in enumerate(objects, start=1):
        places.append(len(out))
        out += f"{number} 0 obj\n".encode() + each + b"\nendobj\n"
    start = len(out)
    out += f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n".encode()
    out += b"".join(f"{place:010d} 00000 n \n".encode() for place in places)
    out += f"trailer << /Size {len(objects) + 1} /Root 1 0 R >>\n".encode()
    return bytes(out + f"startxref\n{start}\n%%EOF".encode())


PICTURES: dict[str, Callable[[], bytes]] = {
    "svgz of elements": partial(svg_of, "<a/>", size=63 * MB),
    "svgz of blanks": partial(svg_of, " ", size=200 * MB),
    "svg of paths": partial(
        svg_of, '<path d="M0 0L1 1L2 2" fill="#fff"/>', size=30 * MB, packed=False
    ),
    "svgz of attributes": partial(svg_attributes, 3_000_000),
    "svgz of scripts": partial(svg_scripts, 300_000),
    "svg of digits": partial(svg_bad_digits, 100_000),
    "svg deep": partial(svg_deep, 200_000),
    "svg entities": svg_entities,
    "svg uses": svg_uses,
    "svg blurs": svg_blur,
    "svg with a picture": partial(svg_picture, 30_000),
    "svg as large as read": partial(svg, head='width="1000mm" height="1000mm" viewBox="0 0 1 1"'),
    "png gray 12000": partial(png_plain, 12_000),
    "png rgba 12000": partial(png_plain, 12_000, kind=6),
    "png rgba16 12000": partial(png_plain, 12_000, kind=6, bits=16),
    "png 100000": partial(png_plain, 30_000, kind=0, bits=1),
    "png iCCP": partial(png_chunk, b"iCCP", b"a\0\0", 1000 * MB),
    "png zTXt": partial(png_chunk, b"zTXt", b"a\0\0", 1000 * MB),
    "png eXIf": partial(png_chunk, b"eXIf", b"", MB),
    "jpeg of scans": partial(jpeg_of_scans, 4000, 20_000),
    "gif of frames": partial(gif_of_frames, 500_000),
    "gif 12000": partial(gif_bomb, 12_000),
    "webp 12000": partial(webp_plain, 12_000),
    "bmp 12000": partial(bmp_rle, 12_000),
    "tiff strip": partial(tiff_strip, 12_000, extra=False),
    "tiff strip, spots": partial(tiff_strip, 12_000, extra=True),
    "tiff tile": partial(tiff_tile, 30_000, extra=False),
    "tiff tile, spots": partial(tiff_tile, 25_600, extra=True),
    "tiff tags": partial(tiff_tags, 16_000_000, 12),
    "tiff names": partial(tiff_photoshop_names, 4_000_000),
    "psd 12000": partial(psd_rle, 12_000),
    "psd 200000": partial(psd_rle, 30_000, channels=1),
    "pdf content": partial(pdf_stream, 3000 * MB),
    "pdf picture": partial(pdf_stream, 3 * 30_000 * 30_000, picture=30_000),
}
