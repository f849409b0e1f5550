"""The steps that make the demo and a synthetic fleet, in order, from all three apps."""

import alignment.sandbox.synthetic_data
import machines.sandbox.demo
import machines.sandbox.demo_plans
import machines.sandbox.synthetic_data.looks
import machines.sandbox.synthetic_data.register
import machines.sandbox.synthetic_data.visits
import machines.sandbox.synthetic_data.wear
import shop.sandbox.demo.billing
import shop.sandbox.demo.people
import shop.sandbox.synthetic_data.closing
import shop.sandbox.synthetic_data.people

from . import chains, story

# Functions (scene).
DEMO = [
    shop.sandbox.demo.people.introduce,
    shop.sandbox.demo.billing.set_prices,
    machines.sandbox.demo.install,
    chains.draw_up,
    machines.sandbox.demo_plans.plan_the_years,
    story.tell,
    shop.sandbox.demo.billing.send_statements,
    machines.sandbox.demo_plans.look_ahead,
]
# Functions (fleet, batch), one batch a firm.
FLEET = [
    shop.sandbox.synthetic_data.people.introduce,
    machines.sandbox.synthetic_data.register.install,
    alignment.sandbox.synthetic_data.draw_up,
    machines.sandbox.synthetic_data.visits.let_happen,
    alignment.sandbox.synthetic_data.name_stations_hit,
    machines.sandbox.synthetic_data.visits.come,
    machines.sandbox.synthetic_data.wear.read_meters,
    machines.sandbox.synthetic_data.wear.live,
    machines.sandbox.synthetic_data.looks.look,
    alignment.sandbox.synthetic_data.measure,
    shop.sandbox.synthetic_data.closing.put_down_times,
    shop.sandbox.synthetic_data.closing.bill,
    shop.sandbox.synthetic_data.closing.sign,
]
