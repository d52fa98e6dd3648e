"""What `streamlit run app.py` runs; everything is in tissue/screens."""

from tissue.screens.start import start

start.draw_screen()
