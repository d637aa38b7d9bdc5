"""The ffmpeg program as second reader: what was made is read by somebody else's decoder."""
