"""Characters, props and marks; who looks at whom, and what holds what."""
