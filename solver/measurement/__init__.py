"""What was measured on the bench beside what was predicted."""
