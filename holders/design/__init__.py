"""Preset, facts and film surface become one Design in which every number is decided.

Plane geometry only: no files, no kernel.
"""
