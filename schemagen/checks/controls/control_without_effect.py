"""control-without-effect (warning)

What: a thermostat, a cut-out or a programmer acts on nothing, and no controller reads it.
Why: it hangs on the wall and does nothing; what it was bought for runs without it.
Cure: write `switches:` at it, or `reads:` at the controller that it informs.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      RT1: {kind: room-thermostat, room: Hall}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      RT1: {kind: room-thermostat, room: Hall, switches: [B1]}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.fault import Fault

FOLDS = ("valve-no-controller", "zone-no-thermostat", "store-no-thermostat")
_KINDS = (
    "room-thermostat", "cylinder-thermostat", "store-thermostat", "pipe-thermostat", "cut-out-thermostat", "programmer",
)  # fmt: skip


def check(facts):
    for device in facts.parts(*_KINDS):
        if not facts.signals.targets(device.tag):
            host = facts.network.host_of(device.tag)
            yield Fault(
                f"{device.tag} ({device.kind.title}) acts on nothing",
                f"write what it acts on as switches: at {device.tag}, or reads: [{device.tag}] at a controller",
                parts=(device.tag, *([host.tag] if host else [])),
            )
