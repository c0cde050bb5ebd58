"""(room: see faces.py)"""
