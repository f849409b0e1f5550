"""The machines on the floor: their axes, stations and datum chain, meters, labels, breaks from
service.

Decides what a machine consists of and where a station's place in the chain is.
"""
