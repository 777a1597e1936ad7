"""Assemblies that several conditions share: stud walls, claddings, copings, counterflashings."""
