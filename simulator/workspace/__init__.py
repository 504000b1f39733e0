"""The desk: a page in the browser, on this machine alone, to draw a case, run it and see it."""
