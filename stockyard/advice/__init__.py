"""Advice drawn from plain values: where to put, whether to keep, when to buy, what it cost."""
