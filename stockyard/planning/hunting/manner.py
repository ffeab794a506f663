"""How large jobs are planned: the numbers of `wholesale.py` and of planning some layouts again."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Manner:
    """How large jobs are planned; shares are of the time or of the pieces."""

    tries: int = 300
    """Patterns drawn from a solved table for all stock rows together, at least `least_tries` for each."""
    least_tries: int = 2
    loss: float = 0.01
    """What a pattern drawn may be worth less than the best, as a share of that."""
    biases: tuple[float, ...] = (1.05, 1.15)
    """Powers of a part's area that it is worth where there are no prices, for each hand in turn: large parts
    are worth a little more, so that they do not stay over."""
    near: float = 0.993
    """Share of the best pattern's worth for its cost from which on others are taken with it."""
    least_near: float = 0.95
    """The least that share becomes while only a few are taken at a time."""
    nearer: float = 0.004
    """By how much it changes at a time."""
    few: float = 0.03
    """Share of the parts left, by area, below which those taken are a few."""
    greedy: float = 0.9
    """Most of the time for patterns one after the other: a whole plan comes first."""
    greedy_rows: int = 100
    """With more stock rows than this their rents decide, which only the programme knows:"""
    greedy_among_rows: float = 0.12
    """so much of the time is then left for patterns one after the other."""
    pricing: float = 0.5
    """Share of the time left after that for the first pricing."""
    first_rounds: int = 12
    """Rounds of it where nothing may depend on the clock."""
    smooth: tuple[float, ...] = (0.8, 0.4)
    """Share of the worths with the best bound in those that are priced, for each hand (Wentges 1997)."""
    less_smooth: float = 0.4
    """So much of that share where it brought nothing, until it is no more than `least_smooth` of it."""
    least_smooth: float = 0.1
    most_beyond: int = 20
    """Up to so many stock rows patterns with more of a part than is wanted come into the first pricing,
    once it stands still: till then its prices are not those of the tables, which know no demand."""
    tight: float = 0.001
    """Pricing ends when its bound is as near as this to the cost."""
    rounds: int = 2
    """Rounds of pricing after each fixing."""
    at_once: float = 0.06
    """Share of the pieces still needed that is fixed at once where nothing is taken whole, at least."""
    small: float = 0.05
    """What may be left of them when time is up: it is then taken one by one."""
    whole: float = 0.97
    """A layout taken this much is taken whole."""
    absent: float = 1.4
    """What a part left out costs, in its share of the dearest piece: it keeps prices within bounds."""
    most_kinds: int = 700
    """Kinds of part up to which the programme of the whole job is of use."""
    most_columns: int = 20_000
    """Columns kept."""
    ruined: tuple[int, int] = (8, 36)
    """How many layouts are taken out to better a plan, from and to."""
    shuffled: float = 0.1
    """How far chance counts beside how little a layout is filled when some are taken out."""
    most_at_last: int = 3000
    """Parts left out that are still put in one after the other once it must stop."""
