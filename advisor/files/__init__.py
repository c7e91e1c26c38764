"""All that touches the file system: bounded reading of plain files, and the one writer.

No other room opens a file or lists a folder (the program's own data under rules/ and grammars/
aside); a test holds that.
"""
