"""From PDF to reading to pieces, and from pieces and an order to laid pages. Pure and CPU-bound."""
