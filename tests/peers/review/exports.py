"""CSV by pandas and Parquet by pyarrow: the same columns, types and cells."""
import sys

import pandas
import pyarrow.parquet

csv = pandas.read_csv(sys.argv[1], dtype={"age": "string"})
table = pyarrow.parquet.read_table(sys.argv[2])
parquet = table.to_pandas()
if list(csv.columns) != list(parquet.columns):
    sys.exit(f"columns differ: {list(csv.columns)} and {list(parquet.columns)}")
for name in csv.columns:
    left, right = csv[name], parquet[name]
    if (left.isna() != right.isna()).any():
        sys.exit(f"{name}: not empty in the same rows")
    kind = table.schema.field(name).type
    kept = ~left.isna()
    if str(kind) == "string":
        alike = (left[kept].astype(str) == right[kept].astype(str)).all()
    elif str(kind) in ("double", "int64"):
        alike = (left[kept].astype(float) == right[kept].astype(float)).all()
    else:
        sys.exit(f"{name}: of type {kind}")
    if not alike:
        sys.exit(f"{name}: cells differ")
print(f"{len(csv)} rows alike")
