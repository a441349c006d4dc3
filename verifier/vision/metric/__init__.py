"""From pixels to millimetres on the plane of the bars, with everything that makes it doubtful."""
