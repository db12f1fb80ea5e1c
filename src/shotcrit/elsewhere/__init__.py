"""Work in a process of its own: the one way, for whatever may die by a signal, hold the interpreter for long, or fill the memory.

    near.py       this side: hands work over, hears how far it is, and tells how it ended (start reading here)
    far.py        the other side: does the work
    command.py    a whole command in a process of its own, of which this one only waits for the end; commanded.py is that process's side
    bounds.py     how much memory and time it may take
    death.py      what is told of a process that ended without an answer

Processes are started anew and not forked, and nothing of a user's own script is run in them, so it works without a `__main__` guard, beside threads, and on
every system.
"""
