"""What the reviewer works with: findings, photos, own measurements, the decision."""
