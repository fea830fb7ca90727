"""Fittings: what a holder can have beside its frame. One folder or file a kind, found through the registry only.

A kind imports core, facts, geometry, film, a preset's plain tables, the design's model and drafts, and never what goes
over all kinds: that asks each of them through :class:`holders.fittings.base.Fitting`.
"""
