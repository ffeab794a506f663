"""The hunt for a plan: searchers, dives, choices and the clock."""
