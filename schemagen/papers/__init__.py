"""Documents round the drawing: what goes to the customer, the site and the class."""
