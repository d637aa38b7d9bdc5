"""The demo film, drawn by code: raster, lettering, figures, scenery, scenes, wear and scan."""
