"""Go or no-go for a pour from findings, coverage and evidence, with every reason."""
