"""Parts of the page that hold session state."""
