"""Colla Parte: a band's parts on every stand, following the leading part."""

__version__ = "0.1.0"
