"""Sawing templates of cradle pieces at true size, as SVG, DXF and PDF."""
