"""The rules sampled: practice cases, short questions, marking, spacing."""
