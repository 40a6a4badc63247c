"""What the feedback trace picks up: from fields to millivolts at the pin."""
