"""How the letter reader is trained: faces to an atlas of sorts, lines made up from it, wear, fit.

Needs torch, fontTools and Pillow, and a machine with a GPU for more than a smoke-size run. Nothing
here is imported by the reader itself.
"""
