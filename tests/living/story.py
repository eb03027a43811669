"""One story: a studio and its neighbours over a year, the same each time for a seed."""

import time
import traceback
from contextlib import contextmanager
from io import StringIO
from random import Random

from django.core.management import call_command

from studio.models import Studio
from tests.living.acts import A_JOB, ACTS, opening
from tests.living.clock import Clock
from tests.living.judge import Judge, TooManyFaults
from tests.living.ledger import Ledger
from tests.living.papers import Papers
from tests.living.people import Api, Browser
from tests.living.words import MAIN, NEIGHBOUR

ACTS_A_SEED = 55
DAYS = 365


class Story:
    """Whose it is, who is in it, and how far it is.

    Attributes
    ----------
    dice : random.Random
        Every decision is drawn from it.
    clock : `tests.living.clock.Clock`
    judge : `tests.living.judge.Judge`
    ledger : `tests.living.ledger.Ledger`
        What was bought, sold and paid according to the acts.
    studio : Studio
        The studio that the story is about; acts look their rows up in it, and change nothing in
        it but through its pages, its API, its files and its commands.
    owner, maker, viewer, neighbour, stranger : `tests.living.people.Browser`
    api, neighbour_api : `tests.living.people.Api`
    links : dict
        What private links were handed out, by what they lead to.
    """

    def __init__(self, seed, monkeypatch, mailbox=None):
        self.seed, self.dice = seed, Random(seed)
        self.clock, self.judge, self.ledger = Clock(), Judge(seed), Ledger()
        self.clock.govern(monkeypatch)
        Papers(seed).govern(monkeypatch)
        self.owner, self.maker, self.viewer = (self.person(MAIN) for _ in range(3))
        self.neighbour, self.stranger = self.person(NEIGHBOUR), self.person(None)
        self.studio = self.second = self.neighbouring = self.restored = None
        self.api = self.neighbour_api = None
        self.links, self.done, self.without_a_row = {}, {}, []
        self._named, self._began = 0, time.process_time()

    def person(self, mark):
        return Browser(self.judge, mark)

    def program(self, token, mark):
        return Api(self.judge, token, mark, self.dice)

    # Living it

    def live(self):
        """Live the whole story; returns what was wrong."""
        from tests.living import ends, every_address

        try:
            with self.acting("opening"):
                opening.open_everything(self)
            for number, due in enumerate(self.plan(), 1):
                self.clock.go_on(minutes=self.dice.randint(5, 400))
                if self.chance(0.7):
                    self.clock.go_on(days=self.dice.randint(0, 3 * DAYS // ACTS_A_SEED))
                self.act(number, due)
            with self.acting("every address"):
                every_address.open_all(self)
            with self.acting("the books"):
                ends.check(self)
        except TooManyFaults:
            pass
        return self.judge.faults

    def plan(self):
        """Return what is due when: a whole job in its order, and between its acts what is drawn.

        Without the job many a story would not come as far as a sale.
        """
        plan = [None] * ACTS_A_SEED
        places = sorted(self.dice.sample(range(ACTS_A_SEED), len(A_JOB)))
        for place, due in zip(places, A_JOB, strict=True):
            plan[place] = due
        return plan

    def act(self, number, due=None):
        """Do the act that is due, or one drawn by weight from those that can be done now."""
        acts = sorted(ACTS, key=lambda one: one.name)  # whichever module was imported first
        weights = [one.weight for one in acts]
        chosen = next((one for one in acts if one.do is due), None)
        for _ in range(0 if chosen else 30):
            (drawn,) = self.dice.choices(acts, weights)
            if drawn.when(self):
                chosen = drawn
                break
        if chosen is None or not chosen.when(self):
            return
        with self.acting(f"{number} {chosen.name}"):
            chosen.do(self)
        self.done[chosen.name] = self.done.get(chosen.name, 0) + 1

    @contextmanager
    def acting(self, name):
        self.judge.act = name
        try:
            yield
        except TooManyFaults:
            raise
        except Exception:
            if name == "opening":
                raise
            self.judge.find(traceback.format_exc(), where=f"the act {name.split(' ', 1)[1]}")

    def told(self):
        """Say in a line what was lived."""
        spent = time.process_time() - self._began
        return (
            f"seed {self.seed}: {sum(self.done.values())} acts over {self.clock.days} days, "
            f"{self.judge.answers} answers, {spent:.0f} s of processor, "
            f"{len(self.judge.faults)} faults; no row for {', '.join(self.without_a_row) or 'none'}"
        )

    @contextmanager
    def paying_unseen(self):
        """Leave commissions out of the story's own accounts whose money moves meanwhile, where an
        act does not know what it sends."""
        before = self.studio.payments.count()
        yield
        for payment in self.studio.payments.order_by("pk")[before:]:
            self.ledger.unsure.add(payment.commission.number)

    # What acts ask of it

    @property
    def today(self):
        return Studio.objects.get(pk=self.studio.pk).today()

    @property
    def bench(self):
        """Return the owner or the maker, whoever is at the bench."""
        return self.dice.choice((self.owner, self.maker))

    def chance(self, share):
        return self.dice.random() < share

    def any(self, rows):
        """Return one of some rows, or None; always the same for the same dice."""
        keys = list(rows.order_by("pk").values_list("pk", flat=True))
        return rows.get(pk=self.dice.choice(keys)) if keys else None

    def money(self, low, high):
        """Return an amount in the studio's currency as it is typed, to its smallest coin."""
        studio = Studio.objects.filter(pk=self.studio and self.studio.pk).first()
        places = {"JPY": 0, "KWD": 3}.get(studio.currency, 2) if studio else 2
        return f"{self.dice.uniform(low, high):.{places}f}"

    def name(self, words, mark=MAIN):
        """Return a name that nothing else has, with the studio's mark in it."""
        self._named += 1
        return f"{mark} {words} {self._named}"

    def command(self, *arguments):
        """Run a management command as a person does at the keyboard; returns what it prints."""
        told = StringIO()
        try:
            call_command(*arguments, stdout=told, stderr=told)
        except SystemExit as error:
            if error.code:
                said = told.getvalue()[:1500]
                self.judge.find(f"`manage.py {arguments[0]}` ends with {error.code}:\n{said}")
        except Exception as error:
            self.judge.find(f"`manage.py {' '.join(arguments)}`: {error!r}")
        return told.getvalue()
