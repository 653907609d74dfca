"""The record at a place, compared with the limits: outcomes with their working."""
