"""The study of heatings: whether cure times and temperatures lie in their bands as they say.

A simulator of its own (finite elements, another law of convection, its own lamp, thermometer and
adhesive) makes heatings whose truth it knows; the package is only handed repair files.
"""
