namespace CashEvents.Api.Books;

// What is told of each kind of line.
public sealed partial record LineAnswer
{
    /// <summary>A line of a book in this API's words, with what the book says of it.</summary>
    internal static LineAnswer Of(BookLine line, Book book) =>
        Of(line, book.Household?.Currency) with { ClockAhead = book.SaidAhead(line.Number) };

    /// <summary>A line in this API's words.</summary>
    internal static LineAnswer Of(BookLine line, Currency? currency)
    {
        decimal Say(Money money) => currency!.ToDecimal(money);
        var answer = new LineAnswer(line.Number, line.EntryId, line.Kind, line.RecordedAt, line.By)
        {
            Hash = line.Hash,
            OccurredOn = (line.Event as IDatedEvent)?.OccurredOn,
            Description = (line.Event as IDatedEvent)?.Description is { Length: > 0 } words ? words : null,
        };
        answer = answer with
        {
            ReversedBy = line.ReversedBy,
            AmendedBy = line.AmendedBy,
            Amends = line.Event is IReplacement { Corrects: { } amended } ? amended.Line : null,
            Reason = (line.Event as IMovement)?.Corrects?.Reason,
            ClosedDay = (line.Event as IMovement)?.Corrects?.ClosedDay,
            Handover = (line.Event as IMovement)?.Carried?.Handover,
            Carried = (line.Event as IMovement)?.Carried is { } carried ? Say(carried.Change) : null,
        };
        return line.Event switch
        {
            Filled e => answer with
            {
                Compartment = e.Compartment,
                Holding = e.Holding,
                Amount = Say(e.Amount),
                SavingPlan = e.Step?.Plan,
                Step = e.Step?.Number
            },
            Spent e => answer with
            {
                Compartment = e.Compartment,
                Holding = e.Holding,
                Amount = Say(e.Amount),
                Goal = e.Pays?.Goal,
                Due = e.Pays?.Due
            },
            Refunded e => answer with { Compartment = e.Compartment, Holding = e.Holding, Amount = Say(e.Amount) },
            Transferred e => answer with
            {
                From = PlaceAnswer.Of(e.From),
                To = PlaceAnswer.Of(e.To),
                Amount = Say(e.Amount),
                CountId = e.SetsAside?.Count,
                SetsAside = e.SetsAside is { } pieces ? Say(pieces.Value) : null,
                SavingPlan = e.Step?.Plan,
                Step = e.Step?.Number,
            },
            Swept e => answer with { From = PlaceAnswer.Of(e.From), To = PlaceAnswer.Of(e.To), Amount = Say(e.Amount) },
            CountTaken e => answer with
            {
                Compartment = e.Compartment,
                Holding = e.Holding,
                Expected = Say(e.Expected),
                Counted = Say(e.Counted),
                Difference = Say(e.Difference),
                Denominations = e.Pieces.IsDefaultOrEmpty ? null : PiecesAnswer.Of(e.Pieces, currency!),
                Witness = e.Witness.Length > 0 ? e.Witness : null,
                CountId = line.Number,
                Round = e.InRound?.Round,
                AtLine = e.InRound?.AtLine,
            },
            BankStatementRead e => answer with
            {
                StatementId = line.Number,
                Expected = Say(e.Expected),
                Counted = Say(e.Stated),
                Difference = Say(e.Difference),
                Parts = [.. e.Parts.Select(p => new BankPartAnswer(p.Compartment, Say(p.Amount)))],
                AtDaysEnd = e.AtDaysEnd,
            },
            BankStatementSettled e =>
                answer with
                {
                    Compartment = e.Compartment,
                    Holding = Domain.Books.Holding.Bank,
                    Difference = Say(e.Difference),
                    StatementId = e.Statement
                },
            CountRoundOpened e => answer with
            {
                Wallet = e.Wallet,
                Purpose = e.Purpose,
                Blind = e.Blind,
                Compartments = e.Compartments
            },
            CountsConfirmed e => answer with { Round = e.Round, Counts = [.. e.Counts.Select(c => c.Count)] },
            CountRoundClosed e => answer with
            {
                Round = e.Round,
                Counts = [.. e.Results.Select(r => r.Count?.Line).OfType<long>()],
                NotCounted = [.. e.Results.Where(r => r.Count is null).Select(r => r.Compartment)],
                Description = e.Reason.Length > 0 ? e.Reason : null,
            },
            CountSettled e => answer with
            {
                Compartment = e.Compartment,
                Holding = e.Holding,
                Difference = Say(e.Difference),
                CountId = e.Count
            },
            Reversed e => answer with
            {
                Reverses = e.Corrects.Line,
                CountId = e.Count ?? e.SetsAside?.Count,
                StatementId = e.Statement,
                SetsAside = e.SetsAside is { } pieces ? Say(pieces.Value) : null,
                Goal = e.Pays?.Goal,
                Due = e.Pays?.Due,
                SavingPlan = e.Step?.Plan,
                Step = e.Step?.Number,
                Payday = e.Payday,
                Changes = [.. e.Changes.Select(
                    c => new ChangeAnswer(c.Place.Compartment, c.Place.Holding, Say(c.Amount)))],
            },
            NotesExchanged e => answer with
            {
                Compartment = e.Compartment,
                Holding = Domain.Books.Holding.Cash,
                With = e.With,
                Gives = PiecesAnswer.Of(e.Gives, currency!),
                Takes = PiecesAnswer.Of(e.Takes, currency!),
            },
            NotesWished e => answer with
            {
                Compartment = e.Compartment,
                Prefer = [.. e.Prefer.Select(Say)],
                Avoid = [.. e.Avoid.Select(Say)],
                AtLeast = PiecesAnswer.Of(e.AtLeast, currency!),
            },
            HandedOver e => answer with
            {
                Compartment = e.Compartment,
                Holding = Domain.Books.Holding.Cash,
                Carrier = e.Carrier,
                Amount = Say(e.Amount)
            },
            HandoverReturned e => answer with
            {
                Compartment = e.Compartment,
                Holding = Domain.Books.Holding.Cash,
                Handover = e.Handover
            },
            PlaceSet e => answer with
            {
                Place = e.Place,
                Label = e.Label,
                AtHome = e.AtHome,
                Wallets = e.Wallets,
                Since = e.Since
            },
            PlaceRemoved e => answer with { Place = e.Place },
            CautionLimitsSet e => answer with
            {
                CashAtHomeLimit = e.CashAtHome is { } home ? Say(home) : null,
                CarriedLimit = e.Carried is { } most ? Say(most) : null
            },
            PaydayFilled e => answer with
            {
                Payday = e.Run.Payday,
                Pay = Say(e.Run.Pay),
                Amount = Say(e.Run.Filled),
                Changes = [.. e.Postings.Select(
                    p => new ChangeAnswer(p.Place.Compartment, p.Place.Holding, Say(p.Amount)))],
            },
            FillRuleSet e => answer with
            {
                Compartment = e.Compartment,
                FillRule = e.Kind,
                Amount = e.Amount is { } fixedAmount ? Say(fixedAmount) : null,
                Share = e.ShareBasisPoints / 100m,
                Ceiling = e.Ceiling is { } ceiling ? Say(ceiling) : null,
                Holding = e.Holding,
                Rank = e.Rank,
                RoundTo = e.RoundTo is { } step ? Say(step) : null,
            },
            FillRuleRemoved e => answer with { Compartment = e.Compartment },
            AutomaticFillsSet e => answer with
            {
                FillsAt = AutomaticFillsAnswer.Say(e.At),
                FillsFrom = e.From,
                FillsDaysAfter = e.DaysAfter
            },
            PaydayLeft e => answer with { Payday = e.Payday, Reason = e.Reason },
            PlanSet e => answer with
            {
                PlannedFrom = e.From,
                Amounts = e.Amounts.ToDictionary(a => a.Key, a => Say(a.Value))
            },
            IncomeSourceSet e => answer with
            {
                Source = e.Source,
                Label = e.Label,
                Rule = e.Rule,
                First = e.First,
                NotBankDay = e.NotBankDay,
                Amount = e.Amount is { } pay ? Say(pay) : null,
            },
            IncomeSourceEnded e => answer with { Source = e.Source },
            StandingPaymentSet e => answer with
            {
                Payment = e.Payment,
                PaymentKind = e.Kind,
                Label = e.Label,
                Rule = e.Rule,
                First = e.First,
                NotBankDay = e.NotBankDay,
                Amount = Say(e.Amount),
            },
            StandingPaymentEnded e => answer with { Payment = e.Payment },
            GoalSet e => answer with
            {
                Goal = e.Goal,
                Compartment = e.Compartment,
                Label = e.Label,
                Amount = Say(e.Amount),
                Due = e.Due,
                Every = e.Every,
                SavedSince = e.Since,
                DueAmounts = e.Amounts.IsEmpty ? null : e.Amounts.ToDictionary(a => a.Key, a => Say(a.Value)),
            },
            GoalRemoved e => answer with { Goal = e.Goal, Compartment = e.Compartment },
            SavingPlanSet e => answer with
            {
                Compartment = e.Compartment,
                Due = e.From,
                Every = e.Every,
                Steps = [.. e.Steps.Amounts().Select(Say)]
            },
            FundTermsSet e => answer with
            {
                Compartment = e.Compartment,
                BankPercent = e.BankPercent,
                InterestPercent = e.InterestBasisPoints / 100m
            },
            MonthClosed e => answer with
            {
                Month = e.Month.ToString(),
                Description = e.Reason.Length > 0 ? e.Reason : null,
                Closing = [.. e.Figures.Select(
                    f => new ClosingAnswer(f.Place.Compartment, f.Place.Holding, f.Wallet, Say(f.Closing)))],
            },
            ClockWasAhead e => answer with
            {
                FromLine = e.FromLine,
                ToLine = e.ToLine,
                On = e.On,
                Description = e.Reason
            },
            MonthReopened e => answer with { Month = e.Month.ToString(), Description = e.Reason },
            HouseholdDescribed e => answer with
            {
                Name = e.Name,
                Currency = e.Currency,
                TimeZone = e.TimeZone,
                FirstDayOfWeek = e.FirstDayOfWeek,
                Country = e.Country,
                SmallestNote = e.SmallestNote is { } smallest
                    ? Domain.Amounts.Currency.Of(e.Currency!).ToDecimal(smallest)
                    : null,
                LargestNote = e.LargestNote is { } largest
                    ? Domain.Amounts.Currency.Of(e.Currency!).ToDecimal(largest)
                    : null,
            },
            WalletOpened e => answer with { Wallet = e.Wallet, Label = e.Label },
            WalletRelabelled e => answer with { Wallet = e.Wallet, Label = e.Label },
            WalletClosed e => answer with { Wallet = e.Wallet },
            WalletReopened e => answer with { Wallet = e.Wallet },
            CompartmentOpened e => answer with
            {
                Compartment = e.Compartment,
                Label = e.Label,
                Wallet = e.Wallet,
                Purpose = e.Purpose
            },
            CompartmentRelabelled e => answer with { Compartment = e.Compartment, Label = e.Label },
            CompartmentMoved e => answer with { Compartment = e.Compartment, Wallet = e.Wallet },
            CompartmentClosed e => answer with { Compartment = e.Compartment },
            CompartmentReopened e => answer with { Compartment = e.Compartment },
            KeyIssued e => answer with
            {
                Name = e.Name,
                Role = e.Role,
                Movements = e.Movements.IsDefaultOrEmpty ? null : e.Movements,
                Expires = e.Expires
            },
            KeyRevoked e => answer with { Name = e.Name },
            _ => answer,
        };
    }
}
