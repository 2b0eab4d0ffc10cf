"""The starter list that `new` writes: small, commented, correct."""

STARTER = """\
# A boiler with its own pump, vessel and relief valve, and one radiator. Change it into your own system.
#   schemagen draw THIS-FILE            draws it
#   schemagen check THIS-FILE           looks for faults
#   schemagen kinds                     all kinds of parts;  schemagen kinds radiator  one kind's ports and keys

sheet:                                  # for the title block
  title: One radiator
  number: H-001
  revision: A

# TAG: {kind: …, and what the kind's page lists}. Quote a text that holds a comma or a colon: label: "Hall, north".
parts:
  B1:  {kind: system-boiler, label: Boiler, output: 12 kW, flow-temperature: 70 °C, place: Kitchen}
  WS1: {kind: waste-stack, trap: mechanical, own-branch: yes}
  SO1: {kind: safe-outlet, label: To outside wall}
  MF1: {kind: magnetic-filter, place: Kitchen}
  R1:  {kind: radiator, label: Hall, room: Hall, output: 1.5 kW}
  LS1: {kind: lockshield-valve}         # left-of:, right-of:, above: or below: TAG say where a part is to stand
  T1:  {kind: tee}
  DC1: {kind: drain-cock, at: MF1.in}   # hangs on a pipe; its tee is made for it
  TI1: {kind: thermometer, at: B1.flow, place: Kitchen}
  TI2: {kind: thermometer, at: B1.return, place: Kitchen}
  CM1: {kind: cold-main}
  SV1: {kind: isolating-valve, label: Stop valve}
  DC2: {kind: drain-cock, at: SV1.b}
  CV1: {kind: double-check-valve}
  FL1: {kind: filling-loop}
  RT1: {kind: room-thermostat, room: Hall, setting: 20 °C, switches: [B1]}

# In the direction in which the water moves. A run goes through parts with one inlet and one outlet;
# the name of a kind in a run makes such a part on the spot.
connections:
  - {run: [B1.flow, isolating-valve, isolating-valve, R1, LS1, T1], size: 22 mm}
  - {run: [T1, isolating-valve, MF1, isolating-valve, B1.return], size: 22 mm}
  - {run: [CM1.out, SV1, CV1, FL1, T1], size: 15 mm}
  - {run: [B1.relief-outlet, SO1.in], size: 15 mm}
  - {run: [B1.condensate, WS1.in], size: 22 mm}
"""
