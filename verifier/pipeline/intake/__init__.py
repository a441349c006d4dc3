"""Evidence on its way in: photos, tape files, drawings and boards, originals first and untouched."""
