"""What each section is for, in one sentence for learners; common practice, no source, in our own words."""

PURPOSE: dict[str, str] = {
    "cold": "Cold drinking water comes in under mains or tank pressure and feeds the taps and the hot-water store.",
    "hot": "Hot water leaves the store or heater at the top and goes to the taps.",
    "circulation": "A small pump brings hot water back from the far taps, so that it does not cool on the way.",
    "tempered": "Behind a mixing valve hot and cold are blended to a temperature that is safe for the skin.",
    "primary-flow": "The heat source sends its hot water to the store, the buffer or the separator.",
    "primary-return": "Water that has given up its heat goes back to the heat source to be warmed again.",
    "heating-flow": "Warm water goes out to whatever heats the rooms.",
    "heating-return": "Cooler water comes back from the rooms.",
    "solar-flow": "Heat from the collectors comes down to the coil in the store.",
    "solar-return": "The cooled fluid goes back up to the collectors, driven by the solar pump.",
    "brine-flow": "Fluid from the ground brings its heat to the heat pump.",
    "brine-return": "Chilled fluid goes back into the ground to take up heat again.",
    "pool-flow": "Filtered and heated water goes to the pool.",
    "pool-return": "Water from the pool goes back to the filter and the heat exchanger.",
    "discharge": "Whatever a safety valve lets out runs away here; normally these pipes are dry.",
    "condensate": "Water that forms in the appliance drains away here.",
    "vent": "This pipe is open to the air, so that pressure can never build up.",
    "cold-feed": "From the cistern this pipe keeps the system full and takes up the water that expands.",
    "filling": "Through this the heating is filled and topped up; afterwards it is taken off or shut.",
    "refrigerant": "Refrigerant carries heat between the two units; only certified people open these pipes.",
}
"""By section, in teaching order."""
