"""From falsework and order to the pour log and the closed record."""
