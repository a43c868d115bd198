"""Made parts packed for a print service: verified again, sheet, inspection page, zip.

Stands on jobs: `cli > order > jobs > report, export, reread > ...`. Nothing below imports it.
"""
