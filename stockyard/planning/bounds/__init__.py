"""What no plan can beat: dual feasible functions and column generation."""
