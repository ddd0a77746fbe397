"""Practice without a machine: many trials by a model operator, and driving by hand.

Import the module that is needed; nothing is loaded by the package itself.
Practice reads the signal path and the machine; neither reads practice.
"""
