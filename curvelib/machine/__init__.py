"""The thing that is driven: how it turns, ramps, tips, slides and stops.

Import the module that is needed, `curvelib.machine.motion` or
`curvelib.machine.limits` for most questions; nothing is loaded by the package
itself.  The machine reads the signal path; the path never reads the machine.

Every module here treats the machine as one rigid body on a steady slope:
no tyre, no spring, no soft ground.  SI units; x forward, y left, yaw positive
counter-clockwise seen from above (REP 103, ISO 8855).
"""
