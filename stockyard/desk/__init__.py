"""Where the rooms meet: a yard and a job become a problem, a plan becomes papers."""
