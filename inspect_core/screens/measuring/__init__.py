"""Measuring on photos: scale, readings beside the marks, hints, doubts, comparison over time. Aids, never decisions."""
