"""Speed, as ratios of two things measured in one run; figures in ms are goals that are printed, never assertions."""
