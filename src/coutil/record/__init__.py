"""The records: clients, charts, orders, bases, revisions, fittings."""

