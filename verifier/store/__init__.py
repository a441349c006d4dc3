"""Files and database behind one small face."""
