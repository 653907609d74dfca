"""Calculations, one module a subject; `diagnose.checks.registry` names them."""
