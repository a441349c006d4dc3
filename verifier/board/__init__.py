"""Scale boards: geometry, identity, printing and print-scale check."""
