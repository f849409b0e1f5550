"""Which axes move a station: chosen from the machine's, refused where no move could be told."""

import pytest
from django.urls import reverse

from alignment.sheets.directions import movers_of, way_words
from machines.register.models import Axis
from tests import factories


@pytest.fixture
def sub(machine):
    station = factories.station_of(machine, "sub-spindle")
    station.movers.all().delete()
    return station


@pytest.fixture
def choose(client, contractor, sub):
    """Chooses axes on the page; returns the answer's text."""
    client.force_login(contractor)

    def send(*axes):
        url = reverse("alignment:movers", args=[sub.pk])
        page = client.get(url)
        version = page.context["form"]["version"].value()
        data = {"axes": [axis.pk for axis in axes], "version": version}
        return client.post(url, data, follow=True).text

    return send


def axis(machine, name, plus):
    return Axis.objects.create(machine=machine, name=name, plus=plus)


def test_an_axis_is_named_with_the_sign_that_moves_it_that_way(choose, machine, sub):
    choose(axis(machine, "U1", "rear"), axis(machine, "V1", "up"))
    assert way_words(12, -8, "um", movers_of(sub)) == (
        "12 µm to the front (U1−) and 8 µm down (V1−)"
    )


def test_a_casting_that_is_bolted_gets_the_direction_alone(sub):
    assert way_words(-12, 0, "um", movers_of(sub)) == "12 µm to the rear"


def test_two_axes_along_one_line_are_refused(choose, machine, sub):
    told = choose(axis(machine, "U1", "rear"), axis(machine, "U2", "front"))
    assert "U1 and U2 both move the sub-spindle to the front and to the rear" in told
    assert not sub.movers.exists()


def test_an_axis_that_takes_the_datum_along_is_refused(choose, machine, sub):
    shared = axis(machine, "U1", "rear")
    sub.datum.movers.create(axis=shared)
    assert "moves neither against the other" in choose(shared)
    assert not sub.movers.exists()


def test_an_axis_of_another_machine_is_none_to_choose(choose, sub, shop):
    other = factories.MachineFactory(shop=shop)
    choose(axis(other, "U1", "up"))
    assert not sub.movers.exists()
