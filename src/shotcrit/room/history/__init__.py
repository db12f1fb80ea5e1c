"""The crit as a whole and over time: its state, its history, taking back."""
