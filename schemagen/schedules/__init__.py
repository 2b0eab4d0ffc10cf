"""Tables that go with a drawing, as values: parts, pipes, valves, settings, states, figures, findings."""
