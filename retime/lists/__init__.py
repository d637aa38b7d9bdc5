"""Lists of the cutting room: read into tables of shots, and written from what was decided.

Text in, values out; nothing here opens a file or knows a plan.
"""
