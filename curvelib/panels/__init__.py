"""What a workbook shows: pictures, sliders and panels.

The panels alone import matplotlib and ipywidgets; nothing else in curvelib
imports the panels.
"""
