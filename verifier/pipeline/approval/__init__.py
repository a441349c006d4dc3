"""What people put their name to: deviations accepted, a pour released or refused, heads held outside."""
