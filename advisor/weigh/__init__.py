"""Weighed flow tests: what one shows, how one is planned, and the G-code that runs it.

It takes numbers and tables, knows no config and draws nothing: see `advisor.lint.weigh`.
"""
