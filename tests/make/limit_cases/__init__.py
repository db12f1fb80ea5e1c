"""For every limit: readings with something planted, and the number at which the check begins to speak. tests/unit/checks/test_limits.py."""
