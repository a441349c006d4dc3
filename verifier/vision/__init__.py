"""From upright pixels to measurements in millimetres. Knows no drawing and no code of practice."""
