"""Parts and stock in, a plan out: pure functions over frozen values, no files, no clock of their own."""
