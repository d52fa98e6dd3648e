"""Contents of the Rounds screen."""
