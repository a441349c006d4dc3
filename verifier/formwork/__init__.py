"""Falsework loads and props, fresh-concrete pressure, striking."""
