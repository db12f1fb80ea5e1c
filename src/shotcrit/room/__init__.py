"""Door two: the room in the browser. Each route is one call of the room, which stands on the crit's store and the desk."""

from shotcrit.room.begin import add_movie, crit_beside, open_crit
from shotcrit.room.serve import Serving, prepare, serve

__all__ = ["Serving", "add_movie", "crit_beside", "open_crit", "prepare", "serve"]
