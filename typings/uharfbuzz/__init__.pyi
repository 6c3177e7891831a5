"""The part of uharfbuzz's interface that coutil uses, as found by trial on 0.57; it ships no types of its own."""

class HarfBuzzError(Exception): ...

class Blob:
    data: bytes
    @classmethod
    def from_file_path(cls, filename: str) -> Blob: ...

class Face:
    blob: Blob
    upem: int
    unicodes: set[int]
    def __init__(self, blob: Blob, index: int = 0) -> None: ...

class Font:
    face: Face
    def __init__(self, face: Face) -> None: ...

class GlyphPosition:
    x_advance: int

class Buffer:
    glyph_positions: list[GlyphPosition]
    def add_str(self, text: str) -> None: ...
    def guess_segment_properties(self) -> None: ...

def shape(font: Font, buffer: Buffer) -> None: ...

class SubsetInput:
    unicode_set: set[int]
    def pin_all_axes_to_default(self, face: Face) -> bool: ...

def subset(face: Face, input: SubsetInput) -> Face: ...
