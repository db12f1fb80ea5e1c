"""The sheet and its ink: the one model of what stands where (`model`), and its painting as SVG for paper and page."""
