"""Lots, tests and sowings as a workbook, to look at and reckon with in a spreadsheet program."""
