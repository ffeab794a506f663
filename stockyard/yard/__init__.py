"""The record: what is in the yard, where, what happened to it. The only room that speaks SQL."""
