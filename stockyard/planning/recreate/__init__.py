"""Ruin and recreate on guillotine cut trees, in compiled kernels."""
