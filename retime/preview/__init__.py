"""The preview: excerpts of a film made small, to be watched at any speed before one is decided."""
