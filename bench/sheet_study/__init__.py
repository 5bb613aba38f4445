"""The study of data sheets: whether energy and times lie in their bands as often as they say.

A simulator of its own (own law, own scatter, own rounding) prints sheets whose truth it knows; the
package is only handed an `[[adhesive]]` table.
"""
