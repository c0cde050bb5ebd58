"""(room to be furnished)"""
