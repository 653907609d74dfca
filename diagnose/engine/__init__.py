"""Exact probabilities over explanations, and the worth of the next question."""
