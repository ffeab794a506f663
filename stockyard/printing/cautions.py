"""The usual cautions, in our own words: they defer to the plate, the manual and local rules."""

from __future__ import annotations

PULLING = (
    "A guide, no permission: two hands, load close, way clear. A sheet catches wind and door frames; in "
    "doubt a second person or a cart.",
    "Racks: never more than the maker's plate says; none there: ask the maker or a licensed engineer. Take "
    "from the top, do not climb, leave no sheet leaning unheld.",
    "Makers' instructions, local codes and trained judgement come before this paper.",
)

SAWING = (
    "Guard, riving knife and push stick on for every rip. Stand out of the line of the cut, hands well clear "
    "of the blade, never reach over it. No short piece between fence and mitre gauge. Support long work. "
    "Eyes, ears, dust extraction. Unplug to change a blade. The saw's manual, its plate and local rules come "
    "before this paper; what it does not warn of is not thereby safe."
)

AT_THE_SAW = (
    "Guard, riving knife, push stick. Out of the line of the cut. What is not warned of may still hurt."
)
"""The line under every page of cut cards; the job sheet carries all of `SAWING`."""

ROUTING = (
    "No tool paths: feeds, speeds, depth and holding are the machine's and its user's. Hold the sheet "
    "down all over and check that no bit meets a clamp. Small parts come loose and fly: tabs, or a skin "
    "left to be cut later. Stop the spindle before a hand goes in. Eyes, ears, dust extraction. The "
    "machine's manual, its plate and local rules come before this sheet; what it does not warn of is not "
    "thereby safe."
)
