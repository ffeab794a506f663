"""The pool of layouts, and the choice of a plan from it."""
