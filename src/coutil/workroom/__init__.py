"""The workroom: a local web application over the records."""

__all__: list[str] = []
