"""A whole letter read: what stands in it for which eye, what must be asked, what was not used."""
