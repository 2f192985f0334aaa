"""Pieces and an order to lines and pages; pages to PDF. Pure."""
