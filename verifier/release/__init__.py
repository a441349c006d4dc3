"""Go / no-go from findings, coverage and the reasons of other rooms; conditions; validity."""
