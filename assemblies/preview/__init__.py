"""The live preview: a design's report page that follows every save, served to this machine only."""
