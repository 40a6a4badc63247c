"""What the feedback trace hears: from fields to millivolts at the pin."""
