"""The server ended by kill -9 while people write: what was answered is there, and nothing half."""

import pytest

from .sites import kill

pytestmark = pytest.mark.server

PEOPLE = 4
EACH = 50
STATIONS = 2
WHOLE = """
SELECT i.what_hit,
  (SELECT count(*) FROM alignment_incidentstation s WHERE s.incident_id = i.id),
  (SELECT count(*) FROM machines_incidentphoto p WHERE p.incident_id = i.id)
FROM machines_incident i
"""


def test_what_was_answered_before_the_server_was_killed_is_there_and_nothing_half(site, crowd):
    """200 writes of four rows and a file each, by four people; killed after about 80."""
    with site.served() as server:
        crowd.start(each=EACH)
        crowd.wait_for(80)
        answered = set(crowd.answered)
        kill(server)
        found = site.ask(WHOLE)
        assert {what for what, *_rest in found} >= {f"holder {one}" for one in answered}
        assert {(stations, photos) for _what, stations, photos in found} == {(STATIONS, 1)}
    with site.served():
        crowd.finish()
    found = site.ask(WHOLE)
    sent = sorted(f"holder {one}" for ids in crowd.ids for one in ids)
    assert len(sent) == PEOPLE * EACH == 200
    assert sorted(what for what, *_rest in found) == sent
    assert {(stations, photos) for _what, stations, photos in found} == {(STATIONS, 1)}


def test_every_photo_of_an_incident_that_outlived_the_kill_has_its_file(site, crowd):
    with site.served() as server:
        crowd.start(each=EACH)
        crowd.wait_for(20)
        kill(server)
    names = [name for (name,) in site.ask("SELECT image FROM machines_incidentphoto")]
    assert len(names) >= 20
    assert all((site.media / name).read_bytes()[:2] == b"\xff\xd8" for name in names)
