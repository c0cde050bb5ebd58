"""What templates may use."""
