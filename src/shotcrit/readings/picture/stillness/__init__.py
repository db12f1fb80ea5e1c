"""What moves and what does not: repeats within the noise, frozen regions, the rhythm of new pictures."""
