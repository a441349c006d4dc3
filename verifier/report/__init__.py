"""Documents for people, made from findings and record; they compute nothing."""
