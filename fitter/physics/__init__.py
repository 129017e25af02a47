"""Pure functions on SI numbers and NumPy arrays: motors, transmissions, mechanics, supplies and heat."""
