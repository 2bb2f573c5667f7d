"""Reads a workbook with openpyxl: one JSON object with a member for each sheet.

The file is the first argument. A sheet has its cells as rows of [type, value], what stays in sight
and where its filters are.
"""
import datetime
import json
import sys

import openpyxl


def cell(value):
    if isinstance(value, datetime.datetime):
        return ["date", value.date().isoformat()]
    return [type(value).__name__, value]


book = openpyxl.load_workbook(sys.argv[1])
print(json.dumps({
    sheet.title: {
        "rows": [[cell(value) for value in row] for row in sheet.iter_rows(values_only=True)],
        "frozen": sheet.freeze_panes,
        "filter": sheet.auto_filter.ref,
    }
    for sheet in book.worksheets
}))
