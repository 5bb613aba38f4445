from __future__ import annotations

import hashlib

import pytest

from panelwright.errors import PhotoError, StoreDamagedError, StoreError
from panelwright.quantities import Units
from panelwright.store import Person, Store, Theme
from tests.store.making import picture


@pytest.mark.exact
def test_a_photo_is_stored_once_by_the_hash_of_its_bytes(store: Store) -> None:
    photo = store.add_photo(picture(1))
    again = store.add_photo(picture(1))
    assert again == photo == store.photo(photo.sha256)
    file = store.photo_file(photo.sha256)
    assert hashlib.sha256(file.read_bytes()).hexdigest() == photo.sha256 == file.stem
    assert file.stat().st_size == photo.size
    assert [one.name for one in store.place.photos.iterdir()] == [file.name]
    assert (photo.media, photo.width, photo.height) == ("image/jpeg", 64, 48)
    assert store.photo("0" * 64) is None


@pytest.mark.exact
def test_a_photo_that_is_refused_leaves_nothing(store: Store) -> None:
    with pytest.raises(PhotoError):
        store.add_photo(b"no picture")
    assert not store.place.photos.exists()


@pytest.mark.exact
@pytest.mark.parametrize("name", ["../panelwright.sqlite", "", "A" * 64, "0" * 63, "/etc/passwd"])
def test_a_name_that_is_no_hash_reaches_no_file(store: Store, name: str) -> None:
    with pytest.raises(StoreError, match="names no photo"):
        store.photo_file(name)


@pytest.mark.exact
def test_a_photo_that_changed_is_not_given_out_and_comes_back_when_sent_again(
    store: Store,
) -> None:
    photo = store.add_photo(picture(1))
    store.photo_file(photo.sha256).write_bytes(picture(2))
    with pytest.raises(StoreDamagedError, match="is not what was stored"):
        store.photo_file(photo.sha256)
    store.add_photo(picture(1))
    assert store.photo_file(photo.sha256)
    store.photo_file(photo.sha256).unlink()
    with pytest.raises(StoreDamagedError, match="is gone"):
        store.photo_file(photo.sha256)


@pytest.mark.exact
def test_people_are_remembered_as_they_last_wanted_it(store: Store) -> None:
    store.remember(Person("Kim"))
    store.remember(Person("Ada", Units.IN, Theme.DARK))
    store.remember(Person("Kim", Units.IN, Theme.LIGHT))
    assert store.people() == (
        Person("Ada", Units.IN, Theme.DARK),
        Person("Kim", Units.IN, Theme.LIGHT),
    )


@pytest.mark.exact
@pytest.mark.parametrize("name", ["", "x" * 201, "a\nb", "\ud800"])
def test_what_no_fact_could_carry_is_no_name(store: Store, name: str) -> None:
    with pytest.raises(StoreError, match="a name has 1 to 200"):
        store.remember(Person(name))
