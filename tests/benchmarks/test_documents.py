"""The service report against writing down the same flowables, all gathered before."""

import functools

from django.conf import settings

from shop.hooks import hooks
from shop.paper.documents import Section, build_document
from shop.visits.models import Visit
from shop.visits.reporting import _meta, build_report, report_of
from tests.benchmarks.measuring import once, seconds

ROUNDS = 3


def gathered(visit):
    """What `build_document` takes; flowables are used up in drawing, so each go has its own."""
    report = report_of(visit)
    made = (section(report) for section in hooks(settings.REPORT_SECTIONS))
    return _meta(report), [Section("", flowables) for flowables in made if flowables]


def test_a_service_report_against_its_drawing(benchmark, fleet):
    visit = Visit.objects.filter(state="signed").first()
    whole = seconds(functools.partial(build_report, visit), ROUNDS)
    drawing = min(once(functools.partial(build_document, *gathered(visit))) for _ in range(ROUNDS))
    benchmark.pedantic(build_report, args=[visit], rounds=1)
    benchmark.extra_info |= {"what": "service report", "ms": 1000 * whole, "floor": 1000 * drawing}
