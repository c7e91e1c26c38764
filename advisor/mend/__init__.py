"""Turns fixes into edits that are consistent together, and writes them so that nothing is lost.

It decides where and how a value is edited, never what is right: that is the rules' business.
"""
