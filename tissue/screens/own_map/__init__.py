"""An eye's own map on the screen: its table is read, questions are answered, the picture is confirmed."""
