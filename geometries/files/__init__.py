"""From files to descriptions; all input errors end here."""
