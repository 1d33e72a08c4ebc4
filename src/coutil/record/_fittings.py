"""Fittings with their amounts and photos."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from coutil.errors import BadInput
from coutil.record._changing import add, change, find
from coutil.record._clients import not_discarded
from coutil.record._engine import Records, clear_deleted, now
from coutil.record._kinds import FITTING, ORDER
from coutil.record._photo_marks import without_marks
from coutil.record._values import LARGEST_PHOTO, MOST_PHOTOS, Conflict, Fitting, NotKept, Photo, PhotoKind, one_line

if TYPE_CHECKING:
    from sqlalchemy import Connection


def add_fitting(records: Records, fitting: Fitting) -> Fitting:
    """Keeps a new fitting, its id and version disregarded; raises BadInput where order or revision do not fit."""
    with records.writing() as link:
        find(link, records, ORDER, fitting.order_id)
        _require_own_revision(link, records, fitting)
        return add(link, records, FITTING, fitting)


def find_fitting(records: Records, fitting_id: int) -> Fitting:
    """The fitting of that id; raises BadInput where there is none."""
    with records.reading() as link:
        return find(link, records, FITTING, fitting_id)


def change_fitting(
    records: Records, fitting_id: int, version: int, edit: Callable[[Fitting], Fitting]
) -> Fitting | Conflict:
    """The fitting as `edit` makes it, or a Conflict where another was faster."""
    with records.writing() as link:
        changed = change(link, records, FITTING, fitting_id, version, edit)
        if isinstance(changed, Fitting):
            _require_own_revision(link, records, changed)
        return changed


def list_fittings(records: Records, order_id: int, deleted: bool = False) -> tuple[Fitting, ...]:
    """The fittings of an order, the newest first; with `deleted`, those that can be brought back too."""
    from sqlalchemy import select

    fittings = records.tables.fittings
    hidden = () if deleted else (not_discarded(records, "fitting", fittings.c.id),)
    query = select(fittings).where(fittings.c.order_id == order_id, *hidden)
    with records.reading() as link:
        rows = link.execute(query.order_by(fittings.c.held.desc(), fittings.c.id.desc())).mappings()
        return tuple(FITTING.decode(row) for row in rows)


def add_photo(records: Records, fitting_id: int, data: bytes, caption: str = "") -> Photo:
    """Keeps a photo, without what its camera wrote into it; raises BadInput for no photo, a large one, one too many."""
    kind = kind_of_photo(data)
    if len(data) > LARGEST_PHOTO:
        raise BadInput(f"The photo has {len(data) / 1e6:.1f} MB, more than {LARGEST_PHOTO / 1e6:g}: make it smaller.")
    data = without_marks(data, kind)
    values = {
        "fitting_id": fitting_id,
        "kind": kind,
        "size": len(data),
        "caption": one_line(caption, "caption"),
        "created": now(),
    }
    t = records.tables
    with records.writing() as link:
        find(link, records, FITTING, fitting_id, to_change=True)
        _require_room(link, records, fitting_id)
        inserted = link.execute(t.photos.insert().values(**values)).inserted_primary_key
        assert inserted is not None
        link.execute(t.photo_data.insert().values(photo_id=inserted[0], data=data))
    return Photo(inserted[0], fitting_id, kind, len(data), str(values["caption"]), str(values["created"]))


def list_photos(records: Records, fitting_id: int) -> tuple[Photo, ...]:
    """The photos of a fitting in the order they came, without their bytes."""
    from sqlalchemy import select

    photos = records.tables.photos.c
    columns = (photos.id, photos.fitting_id, photos.kind, photos.size, photos.caption, photos.created)
    with records.reading() as link:
        rows = link.execute(select(*columns).where(photos.fitting_id == fitting_id).order_by(photos.id)).all()
    return tuple(Photo(*row) for row in rows)


def photo_bytes(records: Records, photo_id: int) -> tuple[PhotoKind, bytes]:
    """What a photo is and its bytes; raises BadInput where there is none."""
    from sqlalchemy import select

    photos, data = records.tables.photos, records.tables.photo_data
    query = select(photos.c.kind, data.c.data).join_from(photos, data, data.c.photo_id == photos.c.id)
    with records.reading() as link:
        row = link.execute(query.where(photos.c.id == photo_id)).first()
    if row is None:
        raise NotKept(f"There is no photo {photo_id}; it may have been erased.")
    return row[0], bytes(row[1])


def remove_photo(records: Records, photo_id: int) -> None:
    """Erases a photo; one that is gone already is no error."""
    t = records.tables
    with records.writing() as link:
        link.execute(t.photo_data.delete().where(t.photo_data.c.photo_id == photo_id))
        link.execute(t.photos.delete().where(t.photos.c.id == photo_id))
    clear_deleted(records)


def kind_of_photo(data: bytes) -> PhotoKind:
    """What kind of photo the bytes are, told by how they begin; raises BadInput for anything else."""
    if data.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    raise BadInput("That is no photo that can be kept: give a JPEG, PNG or WebP picture.")


def _require_room(link: Connection, records: Records, fitting_id: int) -> None:
    from sqlalchemy import func, select

    photos = records.tables.photos.c
    n_photos = link.execute(select(func.count(photos.id)).where(photos.fitting_id == fitting_id)).scalar() or 0
    if n_photos >= MOST_PHOTOS:
        raise BadInput(f"A fitting holds at most {MOST_PHOTOS} photos: remove one first.")


def _require_own_revision(link: Connection, records: Records, fitting: Fitting) -> None:
    from sqlalchemy import select

    if fitting.revision_id is None:
        return
    revisions = records.tables.revisions.c
    order_id = link.execute(select(revisions.order_id).where(revisions.id == fitting.revision_id)).scalar()
    if order_id != fitting.order_id:
        raise BadInput("That revision is another order's: choose one of this order's revisions.")
