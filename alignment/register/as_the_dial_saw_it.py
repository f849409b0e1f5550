"""From records that told directions as an indicator saw them to those that tell of the station.

Up to format 1 of an archive, and before the migration that goes by this too, limits, axes and ways
of adjusting were right and up in a dial's view, every headstock standing at the operator's left.
Checks keep their figures as they were measured and signed. Nothing here knows the database: a
station is told by where its indicator sits and which way it looks, as the records keep them.
"""

NEW_NAMES = {"right": "front", "tilt right": "tilt front", "bow right": "bow front"}
SIDEWAYS, UPWARDS, TILTS = ("front", "tilt front"), ("up", "tilt up"), ("tilt front", "tilt up")
OTHER = {"front": "rear", "rear": "front"}
AS_FRONT = {"right": "front", "left": "rear", "up": "up", "down": "down"}


def along(look):
    """+1 where it looks away from the headstock, else −1."""
    return 1 if look == "from the headstock" else -1


def figure_sign(quantity, surface, indicator_in, look):
    """Between the dial's figure, by the name it has now, and the frame's."""
    hand = along(look)
    if surface in ("bar", "flat"):
        return hand if quantity in SIDEWAYS else 1
    holder = 1 if indicator_in == "datum" else -1
    if quantity in TILTS:
        return holder * (hand * hand if quantity in SIDEWAYS else hand)
    return holder * (hand if quantity in SIDEWAYS else 1)


def limits_now(lower, upper, own):
    """(lower, upper, the factory's own figure) the other way round; any of them None."""
    return _negative(upper), _negative(lower), _negative(own)


def _negative(figure):
    return None if figure is None else -figure


def names_station(moves, name, kind):
    """Whether what an axis moves, in words, is a station of this name or kind."""
    return any(word.casefold() in moves.casefold() for word in (name, kind))


def settings_now(kind, settings, look):
    """The settings of a way of adjusting, told along the machine; what is none comes back."""
    if not isinstance(settings, dict):
        return settings
    return _TURNS.get(kind, _as_it_is)(dict(settings), along(look))


def _as_it_is(settings, _along):
    return settings


def _screws(settings, along):
    near, far = ("towards", "away from") if along > 0 else ("away from", "towards")
    pushes = settings.get("clockwise_pushes", "towards the indicator")
    way = near if pushes == "towards the indicator" else far
    settings["clockwise_pushes"] = f"{way} the headstock"
    if "plane_mm" in settings:
        settings["plane_mm"] = along * settings["plane_mm"]
    return settings


def _shims(settings, along):
    if settings.get("pushes") == "right":
        settings["pushes"] = "front" if along > 0 else "rear"
    if isinstance(settings.get("feet"), dict):
        settings["feet"] = {name: along * z for name, z in settings["feet"].items()}
    return settings


def _control(settings, along):
    if "right" in settings:
        axis = dict(settings.pop("right"))
        settings["front"] = axis | {"sign": along * axis.get("sign", 1)}
    return settings


_TURNS = {"screws": _screws, "shims": _shims, "control": _control}
