"""Door two: the room in the browser. `serve.serve` opens it, `begin.add_movie` puts a movie into it.

Each route is one call of the room, which stands on the crit's store and the desk. Nothing is imported here: the process that
builds pictures lives in this package too, and has to be there at once.
"""
