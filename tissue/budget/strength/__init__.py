"""How strong the rest is believed to be, by published depth relationships."""
