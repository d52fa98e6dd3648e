"""Maps of thickness and epithelium as they are written in a plan or a table, read into what the arithmetic takes."""
