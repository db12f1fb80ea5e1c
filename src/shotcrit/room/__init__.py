"""Door two: the room in the browser. `serve.serve` opens it, `opening.add_movie` puts a movie into it.

`room.Room` is the services over one crit; each folder has routes, the shapes that they take and answer, and the service that they call.
Every edit goes to the store through `edits`; long work is done by a `worker`, in a process of its own. Nothing is imported here: the
process that builds pictures lives in this package too, and has to be there at once.
"""
