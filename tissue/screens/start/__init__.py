"""The script that the server runs, alone in its folder: the server looks for modules there first."""
