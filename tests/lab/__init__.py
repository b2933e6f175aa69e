"""Where the weights, tables and fitted numbers that the product carries are made.

README.md beside this says which module makes what. Training needs torch, fontTools and Pillow, and
a machine with a GPU for more than a smoke-size run. Nothing here is imported by the product.
"""
