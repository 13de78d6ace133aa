"""Rain: frequency tables, design storms, long records, rain events; see docs/method/rain.md.

``frequency``  depth or intensity of a duration and a return period, never beyond the table
``storms``     design storms in equal steps, made from a table
``record``     a measured record in equal steps, with what is missing kept missing
``screening``  which years of a record can be used, and which hours are hard to believe
``events``     independent rain events of a record and the rain left after each one wetted the roof
``extremes``   largest windows, annual and partial-duration maxima, plotting positions, GEV by L-moments
``partial``    partial-duration statistics: generalized Pareto by L-moments, sampling range
``donor``      a record of another place scaled to monthly rain and tested against a rain table
``fragments``  hours split into 5 minutes, for rates alone
"""
