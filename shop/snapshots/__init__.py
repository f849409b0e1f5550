"""What is worked out from a shop's records stands until something stirs there, or the day ends.

Triggers on every trailed table count what changed at a shop (`triggers`); the count is its
generation. A transaction is counted by whoever sees what it did and by nobody else, so a result
that carries a generation was made of that much of the record or of more.

`keeping` keeps results in the cache under their generation. `lists` keeps rows of many shops in
tables, so that a page of a long list is one statement.
"""

from .keeping import Snapshot, generations, standing_of, standing_of_all, with_generation

__all__ = ["Snapshot", "generations", "standing_of", "standing_of_all", "with_generation"]
