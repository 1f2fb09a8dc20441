"""Rows of a study as Parquet and as CSV, compared: read_parquet.py PARQUET CSV KEYS.

KEYS is how many keys the study varies. Leaves with an error where they do not say the same.
"""

import csv
import sys

import pyarrow.parquet as parquet
import pyarrow as arrow

path, beside, keys = sys.argv[1], sys.argv[2], int(sys.argv[3])
table = parquet.read_table(path)
with open(beside, newline="") as rows:
    heads, *rows = list(csv.reader(rows))

assert table.schema.names == heads, table.schema.names
assert table.num_rows == len(rows) > 1, table.num_rows
# case, study and keys, then outcome, how and reason, then figures.
words = 2 + keys + 3
for i, (head, column) in enumerate(zip(heads, table.columns)):
    kind = arrow.int64() if i == 0 else arrow.string() if i < words else arrow.float64()
    assert column.type == kind, (head, column.type)
    read = int if i == 0 else str if i < words else float
    # To the last bit.
    assert column.to_pylist() == [read(row[i]) if row[i] else None for row in rows], head
assert any(c.null_count for c in table.columns) and table["reason"].null_count < len(rows)
