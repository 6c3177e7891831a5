"""coutil: from tape measurements to checked, full-size patterns for bustiers, corset tops and bridal bodices."""

__version__ = "0.1.0"
