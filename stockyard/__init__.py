"""Stockyard: the record of a small shop's sheets and boards, and the plan that cuts them."""

__version__ = "0.1.0"
