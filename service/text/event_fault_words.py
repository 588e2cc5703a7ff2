"""What an event's tables say that can't be so: hours, names, hands, food, a contest, a rota."""

from __future__ import annotations

from events.fault_kinds import FaultKind
from service.text.fault_words import Words

_VULNERABLE = "for guests who are under five, pregnant, old or ill"
_HAZARDOUS = "Write hazardous = true."
_OTHER_HELPER = "Name another."
# How a figure is come by that must be given.
HOW_TO_KNOW = {
    "aperture_m2": "Give its opening in m².",
    "power_w": "A camping ring has about 2500.",
    "loss_w_k": 'Or take like = "box-plain".',
    "core_c": "Give the middle's °C.",
    "ordinary_min": "A recipe's minutes.",
}

DAY: dict[FaultKind, Words] = {
    "none": Words("there is none", "Add a [[{table}]]."),
    "no-meal": Words("there is none", "Add a [[meal]] with from and until."),
    "no-helper": Words("there is none", "Add a [[helper]]: somebody must load and lift."),
    "not-after": Words("must be after {first} {start}"),
    "outside-hours": Words(
        "must be inside the site's opening hours, {opens} to {closes}",
        "Move the {table}, or the hours of the site.",
    ),
    "over-cloud": Words("must be at most cloud_pct, {cloud}"),
    "under-cloud": Words("must be at least cloud_pct, {cloud}"),
    "nobody-may": Words("nobody may work {cookers}", 'Add "{ability}" to a trained adult\'s may.'),
    "nobody-adult": Words(
        "nobody is adult", "Add an adult: the young work no cooker and lift no pot."
    ),
    "fixed-and-floating": Words(
        "has a fixed time and what belongs to one that floats", "Keep one."
    ),
    "stage-without-time": Words("is for a fixed time", "Give a moment, or at."),
    "talks-too-long": Words(
        "{times} times {each_min}, {apart_min} apart, need {needed_min}; there are {there}",
        "Wider hours, or fewer times.",
    ),
    # On the day itself.
    "cooker-has-food": Words(
        "{dish} has been cooking in it since {since} today",
        "Put {key} back and press “out of action” for it.",
        "not there",
    ),
    "pot-has-food": Words(
        "{dish} has been cooking in it since {since} today", "Put {key} back.", "not there"
    ),
    "dish-is-cooking": Words(
        "it has been cooking since {since} today",
        "Put {key} back and press “thrown away” for it.",
        "not there",
    ),
}

COOKERS: dict[FaultKind, Words] = {
    "cooker-needs": Words('kind = "{cooker}" needs it', "{how_to_know}"),
    "lost-too-soon": Words("must be over acceptance_deg, {acceptance}"),
    "no-own-cookers": Words("none is in it", "Take the file as it was written."),
    "too-many-own": Words(
        "{most} is the most", "Take the file as it was written.", "{value} of them"
    ),
    # What was measured of one.
    "needed-too": Words("{known} need it too", "Add it."),
    "over-0": Words("must all be over 0", "Measure again."),
    "too-much-light": Words(
        "would mean that {light_pct} of the light gets in; 2 to 95 can be", "Measure again."
    ),
    "slope-not-below-0": Words("a slope of {slope_w_k} is not below 0", "Measure again."),
    "empty-not-above-air": Words(
        "the hottest empty temperature must be above the air's", "Measure again."
    ),
    "empty-in-mirror": Words(
        "an empty pot must never stand at a mirror's focus", "Measure again, with water."
    ),
    "water-not-warmer": Words(
        "the water must get warmer, in more than 0 minutes", "Measure again."
    ),
    "water-hotter-than-empty": Words(
        "the water got hotter than the empty cooker", "Measure again."
    ),
    "focal-length": Words("a focal length of {focal_m:.2f} m is not 0.05 to 10", "Measure again."),
    "pot-under-spot": Words(
        "a pot {pot_m:g} m wide is smaller than the bright spot, {spot_m:.2f} m", "Measure again."
    ),
    "kept-between": Words(
        "{kept_c} after four hours must lie between the air and {most_c}", "Measure again."
    ),
    "night-there": Words("is night there", "Are the zone and the coordinates those of the test?"),
    "too-few-intervals": Words(
        "are too few for a line: 3 at least",
        "Log every minute or two without gaps; water from {low_c} to {high_c} counts.",
        "{value} intervals",
    ),
    "rise-too-small": Words(
        "the water must get {rise_kelvin} warmer, in {least_min:g} minutes or more", "Wait longer."
    ),
    "near-the-boil": Words(
        "is near the boil, {boil_c}: the power can't be told", "Read it earlier."
    ),
    "out-of-reach": Words(
        "with {sun_w_m2} this cooker could bring it to {low_c} to {high_c}",
        "Look at time, place, litres and sky again.",
    ),
}

FOOD: dict[FaultKind, Words] = {
    "no-such-food": Words(
        "is not in the food table",
        "Give the dish's composition and portion_kg, or one of: {known}.",
    ),
    "no-such-allergen": Words(
        "is no allergen we know", "Write one of: {known}. Any other: also_contains."
    ),
    "not-whole": Words("must add up to 1", "Mend the shares."),
    "done-needs": Words('done = "{done}" needs it', "{how_to_know}"),
    "shape-needs": Words('shape = "{shape}" needs it', "Measure a piece."),
    "raw-is-hazardous": Words("raw meat and fish are hazardous", _HAZARDOUS),
    "raw-middle": Words(
        "raw meat and fish must reach {least_c} in the middle ({edition})",
        "Write core_c = {least_c:g}.",
    ),
    "raw-middle-by-name": Words(
        "raw meat and fish must reach {least_c} in the middle ({edition})",
        "Write core_c = {least_c:g} (or raw_meat = false, if it is none or was cooked before).",
    ),
    "cooked-is-hazardous": Words("cooked, {foods:and} must be kept hot or cold", _HAZARDOUS),
    "raw-out-of-cold": Words(
        "raw meat or fish over {cold_c} must say how long it has been out of the cold",
        "Load it from the cold box (start_c = 5), or write its minutes out as out_min.",
    ),
    "cooked-out-of-cold": Words(
        "food that was cooked before, over {cold_c}, must say how long it has been out of the cold",
        "Load it from the cold box (start_c = 5), or write its minutes out as out_min.",
    ),
    "which-beans": Words(
        "a dish of beans must say whether they are kidney beans, and how boiled",
        'Write "no" (none at all, nor white ones: cannellini), "boiled" (for 30 minutes before, or '
        'tinned) or "raw".',
    ),
    "beans-boil": Words(
        'needs done = "boil" and hold_min of at least {least} (US FDA)',
        'Boil them first and write "boiled", or use tins.',
    ),
    "beans-too-high": Words(
        "at {altitude_m} water boils under {boil_c}, too cool for raw kidney beans "
        "(at most {most_m})",
        'Use tins and write "boiled".',
    ),
    "beans-for-the-vulnerable": Words(
        f"raw kidney beans are not cooked here {_VULNERABLE}",
        'Boil them first and write "boiled", or use tins.',
    ),
    "eggs-firm": Words(
        f"eggs must be firm, {{least_c}} in the middle, {_VULNERABLE}",
        "Write core_c = {least_c:g}.",
    ),
    "held-for-the-vulnerable": Words(
        f"food that can spoil is held for at most {{most_min}} {_VULNERABLE}",
        "Write holding_max_min = {most_min:g}.",
    ),
    "meal-too-long": Words(
        "{dish} would stand off the heat for {wave_min}; hot food may for {most_min} ({edition})",
        "Write waves = {waves} (a fresh pot for each), end the meal sooner, or add a gas ring or "
        "an insulated box.",
    ),
}

CONTEST: dict[FaultKind, Words] = {
    "no-contest": Words("there is no [contest]", "Add its hours."),
    "contest-needs": Words("there is none", "A contest needs a [[{table}]]."),
    "entry-has-meal": Words("an entry is tasted by judges"),
    "second-entry": Words("has entered {other}", "One entry a team."),
    "cooker-is-drawn": Words("is to be drawn", "Name the team's own, or none."),
    "cooker-of-another": Words("belongs to {team}", "Name the team's own, or none."),
    "cooker-in-use": Words("cooks {entry} already"),
    "too-few-to-draw": Words(
        "{entries} entries are to be drawn a cooker; there are {cookers}",
        "Add a cooker of the contest that is no team's, or name the team's own.",
    ),
    "drawn-unlike": Words(
        "those that are drawn must have the same figures", "An unlike one is a team's own."
    ),
    "station-twice": Words("stands twice", "Name each place once."),
    "too-few-places": Words("{free} places for {entries} entries", "Add places."),
    "two-at-station": Words("two entries stand there", "Move one."),
    "tastings-too-long": Words(
        "the tastings need {needed_min}", "Longer hours, or fewer minutes.", "{value} min"
    ),
    "open-too-long": Words(
        "judges one after another keep a pot open {open_min}",
        "Hold it longer, let more judges taste at once, or take a table.",
    ),
    "all-young": Words("all its people are young", "Add an adult."),
    "team-untrained": Words(
        "cooks in a mirror; nobody in the team may work one",
        "Say that one is trained, if one is; or take another cooker.",
    ),
    "not-for-this-dish": Words("is not for this dish", "Another dish."),
    "too-heavy-for-team": Words(
        "its pot takes {people} people to lift", "A smaller pot, or more people."
    ),
    "runner-not-adult": Words("is no adult helper"),
    "judge-away": Words("is not there while entries are tasted"),
}

ROTA: dict[FaultKind, Words] = {
    "no-group": Words("there is none", "Add one, or leave out the stops."),
    "no-stop": Words("there is none", "Add one, or leave out the groups."),
    "stop-nowhere": Words("a stop needs a place", "Name it, or say how far east and north."),
    "sees-no-cooker": Words("no cooker is named", "Say at which cookers."),
    "young-alone": Words("the young go round with a named adult", "Name one."),
    "not-adult": Words("is not adult", _OTHER_HELPER),
    "with-another-group": Words("is with {group} already", "One adult goes with one group."),
    "guide-not-adult": Words("is no adult helper", _OTHER_HELPER),
    "guide-elsewhere": Words("is elsewhere on the round", _OTHER_HELPER),
    "group-too-large": Words("{stop} takes {most}", "Part the group."),
    "rota-outside-hours": Words(
        "must be inside the site's opening hours, {opens} to {closes}",
        "Move one of them.",
        "{value} to {end}",
    ),
    "pause-without-times": Words(
        "begins between two times", "Say from when and until when it may begin."
    ),
    "pause-ends-first": Words("must not be before {start}"),
    "round-too-long": Words(
        "{stops} stops, the walks and the pause need {needed_min} at least",
        "Longer hours, shorter visits, or stops that the group skips.",
        "{value} min",
    ),
    "visits-too-long": Words(
        "{groups} groups one after another need {needed_min}",
        "Shorter visits, or longer hours.",
        "{value} min",
    ),
}
