"""Many stores looked at together: their records as Parquet, weighed again and counted by several processes or machines.

Each store stays its own, with its own account; what is told here over several of them is read from what
`bartack export --format parquet` wrote.
"""
