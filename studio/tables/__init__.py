"""Tables as files: bytes to rows and back, for CSV and XLSX. Knows no model but the studio."""

from studio.tables.formulas import guarded, unguarded
from studio.tables.listings import ListColumn, Listing
from studio.tables.reading import read_grid, read_table
from studio.tables.rows import Grid, Limits, Table, TableError, TableRow, folded
from studio.tables.writing import FORMATS, csv_bytes, table_bytes, write_csv, xlsx_bytes

__all__ = [
    "FORMATS",
    "Grid",
    "Limits",
    "ListColumn",
    "Listing",
    "Table",
    "TableError",
    "TableRow",
    "csv_bytes",
    "folded",
    "guarded",
    "read_grid",
    "read_table",
    "table_bytes",
    "unguarded",
    "write_csv",
    "xlsx_bytes",
]
