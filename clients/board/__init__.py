"""The compose board: a stored draft with everything that its page shows, as plain values for the templates."""
