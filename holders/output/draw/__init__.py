"""Pictures in SVG: plans, sections and views, from the design as it stands."""
