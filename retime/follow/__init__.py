"""What follows the picture: sound, subtitles, chapters and cues."""

__all__: list[str] = []
