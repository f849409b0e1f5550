"""The steps that make the demo and a synthetic fleet, in order, from all three apps."""

import alignment.fleet
import machines.demo
import machines.fleet.looks
import machines.fleet.register
import machines.fleet.visits
import machines.fleet.wear
import machines.planning.demo
import shop.demo.billing
import shop.demo.people
import shop.fleet.closing
import shop.fleet.people

from . import chains, story

# Functions (scene).
DEMO = [
    shop.demo.people.introduce,
    shop.demo.billing.set_prices,
    machines.demo.install,
    chains.draw_up,
    machines.planning.demo.plan_the_years,
    story.tell,
    shop.demo.billing.send_statements,
    machines.planning.demo.look_ahead,
]
# Functions (fleet, batch), one batch a firm.
FLEET = [
    shop.fleet.people.introduce,
    machines.fleet.register.install,
    alignment.fleet.draw_up,
    machines.fleet.visits.let_happen,
    alignment.fleet.name_stations_hit,
    machines.fleet.visits.come,
    machines.fleet.wear.read_meters,
    machines.fleet.wear.live,
    machines.fleet.looks.look,
    alignment.fleet.measure,
    shop.fleet.closing.put_down_times,
    shop.fleet.closing.bill,
    shop.fleet.closing.sign,
]
