"""The .crit file: one writer, read-only readers, every edit on disk before it is called saved."""
