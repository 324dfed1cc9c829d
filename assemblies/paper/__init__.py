"""Paper that goes into the box: a booklet with pictures, parts, steps, cautions and templates at true size."""
