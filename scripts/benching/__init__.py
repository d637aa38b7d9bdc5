"""Speed and memory of retime, measured against the ffmpeg program that imageio-ffmpeg ships."""
