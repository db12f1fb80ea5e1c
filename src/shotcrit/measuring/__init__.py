"""The wiring that both doors use: measure this, show that, send those."""
