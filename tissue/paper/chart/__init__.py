"""Charts for print: a plain figure as SVG, PDF and PNG, without a browser."""
