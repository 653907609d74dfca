"""Handover record and defect diagnosis for fitted carpet."""

__version__ = "0.1.0"
