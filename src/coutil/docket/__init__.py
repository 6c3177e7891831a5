"""Quantities, cutting list, price."""
