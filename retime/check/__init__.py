"""What was made is held against what was planned: read by the second reader, never by our own."""
